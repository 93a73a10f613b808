"""Whole jobs in a simulated workshop, from the first reading to the last stroke.

The workshop has physics, habits and gauges of its own, none of which the advice knows:
it sees what a person would have written down, as a folder of tables.
"""
