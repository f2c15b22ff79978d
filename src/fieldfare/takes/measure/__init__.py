"""Measures every channel of a recording in one pass: levels, and all that may be a fault, with its place."""

from fieldfare.takes.measure.gauge import Gauge, measure
from fieldfare.takes.measure.shapes import Channel, Measures, levels_dbfs, peak_dbfs, rms_dbfs

__all__ = ["Channel", "Gauge", "Measures", "levels_dbfs", "measure", "peak_dbfs", "rms_dbfs"]
