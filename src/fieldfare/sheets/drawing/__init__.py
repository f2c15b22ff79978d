"""The stage drawing: documents in, geometry on the page out. Pure functions; the template only draws what they say."""
