"""Reports: of a run, of the evidence, and the index of the gallery."""
