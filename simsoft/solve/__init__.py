"""Solvers: modes, rest shape, onset, time march."""
