"""Class pages: a map to be explored in a browser."""
