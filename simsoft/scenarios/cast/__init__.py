"""Scenario 'cast': flight, reach, and parts blown about near the hook."""
