"""Files of the tank: tables, tracks, lists of designs, locks, profiles."""
