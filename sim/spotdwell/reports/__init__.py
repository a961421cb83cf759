"""Reports of runs: what a run found, why, and on what it rests."""
