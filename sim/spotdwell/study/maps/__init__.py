"""Maps: many runs over a grid of settings."""
