"""Floor 8: one module a command. Words in, one sentence out; no rules of the trade."""
