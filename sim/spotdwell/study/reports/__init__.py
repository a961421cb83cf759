"""Reports of runs, and the gallery of all that is shipped."""
