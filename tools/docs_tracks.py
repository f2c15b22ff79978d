"""Write docs/track-check.md from the tables of checks and thresholds: python tools/docs_tracks.py"""

from __future__ import annotations

from pathlib import Path

from fieldfare.takes.checks import thresholds
from fieldfare.takes.checks.table import TAKE_CHECKS, TRACK_CHECKS
from fieldfare.takes.checks.thresholds import Threshold

PAGE = Path(__file__).parent.parent / "docs" / "track-check.md"
HEAD = """# Track check

Every track is measured in one pass, while it is offloaded or afterwards, and judged. What is found is told with its
place to the sample, how grave and how sure it is, and what can be done. Nothing is ever changed in a recording.

```console
$ fieldfare demo try --seconds 20
$ fieldfare check try/show
$ fieldfare check try/show --pdf try/paper
$ fieldfare check try/show --html try/paper
$ fieldfare check try/card --mains 50 --json
```

With a show, tracks are matched to the plan's inputs by number, name and what stands in the files, and compared with
the peak the plan expects. Any other folder of [recordings](files.md) is checked too, with a list of inputs or without
one; see [without-a-plan.md](without-a-plan.md). A *stop* means that a track cannot be used as it is, a *warn* that somebody should listen, a *note* that
it is worth knowing. Exit status 1 says that there is a stop or a warn.

Levels are dB re full scale; an rms reads 0 for a full-scale sine. Music has silence, brushes, feedback, distortion and
square waves of synthesisers: each check is tried in the tests on faults and on clean playing that looks like them.

This page is made from the tables in `src/fieldfare/takes/checks` by `python tools/docs_tracks.py`; a source is a key of
[sources.md](sources.md) or common practice.
"""


def page() -> str:
    """Make the page's text."""
    checks = [
        f"| {check.kind} | {'one track' if check in TRACK_CHECKS else 'the take'} | {check.sounds} | {check.source} |"
        for check in (*TRACK_CHECKS, *TAKE_CHECKS)
    ]
    numbers = [
        f"| {name.lower().replace('_', ' ')} | {one.value:g} {one.unit} | {one.means} | {one.source} |".replace(
            "  ", " "
        )
        for name, one in vars(thresholds).items()
        if isinstance(one, Threshold)
    ]
    return "\n".join(
        (
            HEAD,
            "## What is looked for\n",
            "| fault | looked for in | how it sounds | from |",
            "| --- | --- | --- | --- |",
            *checks,
            "\n## Thresholds\n",
            "| threshold | value | meaning | from |",
            "| --- | --- | --- | --- |",
            *numbers,
            "",
        )
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
