"""Rod mechanics: arrays in, arrays out; knows nothing of cases or files."""
