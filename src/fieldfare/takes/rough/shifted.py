"""A mix with the shifts that were offered by the measured delays: those that are marked, and no others."""

from __future__ import annotations

from fieldfare.show.alignment import ShiftList
from fieldfare.show.mix import MixSheet, MixTrack
from fieldfare.units.faults import Fault
from fieldfare.units.text import listed


def with_shifts(sheet: MixSheet, shifts: ShiftList) -> MixSheet:
    """Put tracks of a mix later, and turn them over, as a list says; to whole samples.

    Parameters
    ----------
    sheet
        The mix.
    shifts
        The list; only what is marked to be applied counts.

    Raises
    ------
    Fault
        The list is of another take, or names a track that the mix does not have.
    """
    if shifts.take != sheet.take:
        raise Fault(f"it is of take {shifts.take}, not of {sheet.take}", "the shifts", "name the list of this take")
    wanted = {one.track: one for one in shifts.shift if one.apply}
    labels = [track.label for track in sheet.track]
    for label in wanted:
        if label not in labels:
            raise Fault(f"there is no track {label}", "the shifts", f"the take has {listed(labels)}")

    def put(track: MixTrack) -> MixTrack:
        shift = wanted.get(track.label)
        if shift is None:
            return track
        why = f"{track.why}; in time by the shifts: {shift.why}" if shift.why else track.why
        moved = {"shift": track.shift + round(shift.samples), "flip": track.flip != shift.flip, "why": why}
        return track.model_copy(update=moved)

    return sheet.model_copy(update={"track": tuple(put(track) for track in sheet.track)})
