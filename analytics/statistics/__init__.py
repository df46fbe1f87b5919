"""Statistics from counts: arrays in, frozen results out, NumPy and SciPy only."""
