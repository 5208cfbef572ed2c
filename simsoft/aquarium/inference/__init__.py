"""What measurements say about inputs, and which run to make next."""
