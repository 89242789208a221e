"""What is known, as data, with its sources."""
