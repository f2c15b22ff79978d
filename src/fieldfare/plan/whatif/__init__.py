"""What if: every single failure and every possible source, planned again with the fewest changes."""
