"""Constants, units, vocabulary and errors; imports nothing else of the package."""
