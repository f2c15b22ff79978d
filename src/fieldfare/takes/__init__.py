"""Floor 3: recorded files become safe copies and findings."""
