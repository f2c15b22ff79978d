"""Floor 0: units, formatting, clock, sources, faults, and `Working`, a figure with its formula."""
