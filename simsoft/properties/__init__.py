"""Durometer, water, air, mixtures, coefficients, a shop's measured values; with bands."""
