"""The aquarium: tracks and clips of a real tail -> numbers, comparison, calibration, plan."""
