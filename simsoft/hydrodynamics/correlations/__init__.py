"""Published drag and shedding of simple bodies, as pure functions."""
