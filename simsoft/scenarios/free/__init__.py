"""Scenarios of the lure free in the water: sink, hop, tow."""
