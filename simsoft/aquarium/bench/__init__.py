"""Bench tests: ring-down, droop, weighing, sink and cast."""
