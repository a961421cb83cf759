"""Size: the setting that gives a wanted depth, and why there may be none."""
