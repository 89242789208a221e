"""The chance of a prime flush per spot, taxon and day."""
