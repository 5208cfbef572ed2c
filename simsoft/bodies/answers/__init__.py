"""What a solved body puts into its outcome, whatever kind of body it is."""
