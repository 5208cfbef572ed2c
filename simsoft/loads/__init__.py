"""Loads of the water on a part: correlations, drag, reactive force, shedding, weight."""
