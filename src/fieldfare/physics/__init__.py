"""Floor 1: what sound, electricity, media and bodies do. Pure functions on floats and arrays, one module a subject."""
