"""From a clip to a tip track, with every doubt about the view."""
