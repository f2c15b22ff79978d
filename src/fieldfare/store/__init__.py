"""Floor 4: what is kept: every revision of a document and what happened on the night. Nothing is ever overwritten."""
