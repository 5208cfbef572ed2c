"""Mechanics of rods, plates and multibodies: arrays in, arrays out; knows no case."""
