"""Daily weather, soil water, soil warmth and frost by published methods."""
