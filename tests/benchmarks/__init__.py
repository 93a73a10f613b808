"""Speeds as ratios, run on demand and never among the tests."""
