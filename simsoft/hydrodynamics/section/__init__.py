"""Loads on one section of a rod: drag, friction, reactive force, weight."""
