"""Maps as labelled arrays, files, tables and pictures."""
