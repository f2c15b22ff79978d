"""Copying a take from its card to safe places, checked."""

from fieldfare.takes.offload.copying import Measure
from fieldfare.takes.offload.disk import Disk
from fieldfare.takes.offload.run import Progress, Tell, offload

__all__ = ["Disk", "Measure", "Progress", "Tell", "offload"]
