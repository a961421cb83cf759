"""Live: a page on this machine whose knobs fire computed shots."""
