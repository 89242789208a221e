"""Records become files for others."""
