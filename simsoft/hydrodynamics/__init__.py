"""Loads of the water on a part: drag, reactive force, wakes, added mass, weight."""
