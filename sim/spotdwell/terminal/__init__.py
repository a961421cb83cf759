"""What the command line prints and how it waits; with `cli` the only importer of typer and rich."""
