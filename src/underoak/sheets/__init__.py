"""Printed pages, labels, map and charts: records become bytes."""
