"""What every verb shares: what it prints, how it waits and saves, how it stops, and the workers it uses."""
