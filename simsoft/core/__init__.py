"""What every room may use: errors, numbers with bands, compiled kernels, files, signals."""
