"""The page for the pack: one HTML file that works in the woods without any network."""
