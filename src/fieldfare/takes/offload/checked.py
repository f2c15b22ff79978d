"""Offloading the card of a show: copied, read back, and every track measured on the way and judged by the plan."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fieldfare.show.findings import OffloadReport
from fieldfare.show.plan import Plan
from fieldfare.takes.offload.kept import copies_name, keep_report
from fieldfare.takes.offload.run import Tell, offload
from fieldfare.takes.tracks import Listener


def offload_show(
    card: Path,
    places: Sequence[Path],
    folder: Path,
    plan: Plan,
    mains_hz: float,
    *,
    same_device: bool = False,
    recheck: bool = False,
    tell: Tell | None = None,
) -> OffloadReport:
    """Offload a card, check its tracks against the plan, and keep the report in the show's folder.

    Parameters
    ----------
    card, places, same_device, recheck, tell
        As for `offload`.
    folder
        The show's folder.
    plan
        What each track should be.
    mains_hz
        Nominal frequency of the mains. [Hz]

    Raises
    ------
    NotDone
        It could not be begun, or the report cannot be kept.
    """
    listener = Listener()
    report = offload(
        card,
        [place.absolute() for place in places],  # they are looked for later, from wherever the program is run
        name=copies_name(plan),
        same_device=same_device,
        recheck=recheck,
        measure=listener,
        tell=tell,
    )
    report = report.model_copy(update={"take": listener.reports(card, plan, mains_hz)})
    return keep_report(folder, plan, report)
