"""A whole run: which part is asked what, on all cores, with bands."""
