"""Fieldfare: plan, rig, record, prove and hand over a live multitrack recording."""

__version__ = "0.1.0"
STOPPED_BY_HAND = "Stopped by hand. What was finished before is kept."
