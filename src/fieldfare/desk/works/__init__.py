"""Long work, a module a kind: from what was asked in a browser to the room that does it."""
