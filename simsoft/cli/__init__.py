"""The command line: options in, text out."""
