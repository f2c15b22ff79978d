"""Write docs/checks.md from the table of checks. Run it after changing a check: python tools/docs_checks.py"""

from __future__ import annotations

import inspect
from collections.abc import Iterable
from itertools import groupby
from pathlib import Path

from fieldfare.plan.checks.check import Check
from fieldfare.plan.checks.table import CHECKS

PAGE = Path(__file__).parent.parent / "docs" / "checks.md"
HEAD = """# Checks

Every plan is checked before anybody carries anything. A check looks for one thing that goes wrong in the trade; where
it fires it says what is wrong, at which hop, and after the colon what to do.

| severity | what it means |
| --- | --- |
| stop | it will not work, or something is lost or harmed: put it right first |
| warn | it works on a good day: put it right, or know why not |
| note | worth knowing on the day |

`fieldfare plan SHOW` prints what stops and warns, the sheet "open questions and trouble" all of it. The last column
says where the rule comes from: a key of [sources.md](sources.md), or common practice. Each check stands as a small
function in `src/fieldfare/plan/checks`, with cases in `tests/plan/checks/cases` on which it fires and others on which
it keeps silent. None ever advises to lift a protective earth: hum is cured by isolating the audio. This page is made by
`python tools/docs_checks.py`.
"""
COLUMNS = "| id | severity | what it finds | says | from |\n| --- | --- | --- | --- | --- |\n"
SUBJECTS = {
    "phantom": "Phantom",
    "level": "Levels",
    "lines": "Pickups and long lines",
    "splits": "Splits",
    "supplies": "Supplies",
    "joints": "Connectors",
    "doubles": "Nothing twice, nothing that is not there",
    "floor": "Cable on the floor",
    "things": "Units",
    "recorder": "The recording as a whole",
    "acts": "From act to act",
    "stage": "What the microphones hear",
}


def page(checks: Iterable[Check]) -> str:
    """Return the whole page, in the order of the table."""
    parts = [HEAD]
    for subject, group in groupby(checks, key=_subject):
        rows = [_row(check) for check in group]
        parts.append(f"\n## {SUBJECTS[subject]}\n\n{COLUMNS}")
        parts.append("\n".join(rows) + "\n")
    return "".join(parts)


def _subject(check: Check) -> str:
    return check.find.__module__.rsplit(".", 1)[1]


def _row(check: Check) -> str:
    finds = (inspect.getdoc(check.find) or "").rstrip(".")
    says = check.says.replace("{hop}", "*hop*").replace("{detail}", "*figure or name*").replace("{remedy}", "*remedy*")
    return f"| {check.id} | {check.severity} | {finds} | {says} | {check.source} |"


if __name__ == "__main__":
    PAGE.write_text(page(CHECKS), encoding="utf-8", newline="\n")
    print(f"{PAGE.name}: {len(CHECKS)} checks")
