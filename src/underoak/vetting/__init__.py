"""What a find may be, what is not ruled out, and a verdict that never clears."""
