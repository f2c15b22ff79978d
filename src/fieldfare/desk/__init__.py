"""The desk: the whole program on a screen, served from the laptop. It holds no rules of the trade."""
