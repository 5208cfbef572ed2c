"""Studies of the program itself, run by hand; each writes a page or a table."""
