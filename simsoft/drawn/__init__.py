"""A bait drawn in CAD as a mesh: read, turned to a case's axes, understood, written as a case."""
