"""Published checks: ordinary cases and formulas compared with values from the literature."""
