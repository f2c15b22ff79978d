"""Time and polarity between tracks that hear the same: measured, compared with the drawing, offered, never applied."""
