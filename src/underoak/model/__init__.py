"""Frozen records and quantities that all parts share. Nothing here reads, writes or computes."""
