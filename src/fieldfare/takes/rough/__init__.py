"""A rough mix of a take, song by song: chosen by measurement, written down in a sheet, rendered from that alone."""
