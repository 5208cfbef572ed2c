"""What goes with what in a case file: checks across keys, by subject."""
