"""Mathematics on arrays and frozen records: surfaces, windows and the simulated press."""
