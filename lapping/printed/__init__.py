"""Sheets for paper, drawn true to size."""
