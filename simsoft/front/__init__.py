"""What stands between the command line and the rooms: options in, text out."""
