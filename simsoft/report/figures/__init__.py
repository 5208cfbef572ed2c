"""The pictures of every command."""
