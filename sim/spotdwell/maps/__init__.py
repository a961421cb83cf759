"""Maps: measures over ranges of settings."""
