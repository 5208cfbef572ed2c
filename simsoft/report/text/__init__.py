"""The text of every command, in 80 columns, the answer first."""
