"""What the season brought."""
