"""Outlines, bodies and hooks as stated: the usual ones by kind, drawn ones by file."""
