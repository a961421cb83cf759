"""Films: a shot as it happens."""
