"""Files left unfinished, stale, wrapped, cut or without a head: repaired into a new file, the original untouched."""

from fieldfare.takes.mend.headless import Offer, offers
from fieldfare.takes.mend.join import join, strand_of
from fieldfare.takes.mend.repair import mend, mend_headless

__all__ = ["Offer", "join", "mend", "mend_headless", "offers", "strand_of"]
