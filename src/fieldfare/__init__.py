"""Fieldfare: plan, rig, record, prove and hand over a live multitrack recording."""

__version__ = "0.1.0"
