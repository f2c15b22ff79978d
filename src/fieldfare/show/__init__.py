"""Floor 2: the documents. Data without rules of the trade, with a published JSON Schema."""
