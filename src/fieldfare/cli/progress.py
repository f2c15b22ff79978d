"""How long work shows on a terminal that it goes on; silent where nobody looks."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import Self

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn


class Bar:
    """One line that fills while work goes on and is gone when it is done."""

    def __init__(self, *, quiet: bool = False) -> None:
        console = Console(stderr=True, width=80)
        columns = (TextColumn("{task.description}"), BarColumn(30), TaskProgressColumn(), TimeRemainingColumn())
        disabled = quiet or not sys.stderr.isatty()
        self._progress = Progress(*columns, console=console, transient=True, disable=disabled)
        self._task = self._progress.add_task("", total=1.0)

    def __enter__(self) -> Self:
        self._progress.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._progress.stop()

    def show(self, what: str, done: float, total: float) -> None:
        """Say what is being done, and how much of it."""
        self._progress.update(self._task, description=what, completed=done, total=max(total, 1e-9))
