"""Speed as ratios, side by side in one run; never in the tests."""
