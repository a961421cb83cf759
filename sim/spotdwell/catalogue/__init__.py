"""Catalogue: what is shipped."""
