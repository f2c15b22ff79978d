"""Loudness and true peak of a programme of any number of channels at any rate, as it comes by.

ITU-R BS.1770-5 with the windows of EBU Tech 3341 and the range of EBU Tech 3342.
"""

from fieldfare.takes.loudness.gates import integrated_lufs, loudness_range_lu
from fieldfare.takes.loudness.meter import Loudness, Meter, measure_loudness
from fieldfare.takes.loudness.peaks import TruePeak
from fieldfare.takes.loudness.weighting import layout_weights, position_weight

__all__ = [
    "Loudness",
    "Meter",
    "TruePeak",
    "integrated_lufs",
    "layout_weights",
    "loudness_range_lu",
    "measure_loudness",
    "position_weight",
]
