"""Host trees, terrain, trails and what stands in view of them."""
