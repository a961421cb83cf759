"""Class page: a map as one HTML file."""
