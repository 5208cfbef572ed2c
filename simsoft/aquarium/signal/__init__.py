"""From a track to beat, stroke and start speed, with uncertainties."""
