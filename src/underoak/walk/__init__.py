"""The walk that brings most home within its limits."""
