"""The gap between a part's surface and the bare wire of a hook."""
