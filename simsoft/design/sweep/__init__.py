"""The sweep: designs from axes, one run as a row, journal, workers, file."""
