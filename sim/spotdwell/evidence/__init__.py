"""Evidence: closed forms, published rows, credibility."""
