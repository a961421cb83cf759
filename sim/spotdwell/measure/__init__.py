"""Pure functions from an outcome to what a person measures on a cut specimen, and the verdict on it."""
