"""Loads on a plate: added mass by panels, attached flow, drag, its own wake."""
