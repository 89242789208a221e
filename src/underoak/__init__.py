"""Underoak: from weather to jar for a household that gathers autumn mushrooms."""

__version__ = "0.1.0"
