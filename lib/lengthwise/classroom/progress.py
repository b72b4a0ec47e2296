"""A bar for work that takes a while, with the time that is left."""

from __future__ import annotations

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
from rich.progress import Progress as Bar


class Progress:
    """A bar on the error stream that goes away when it is done; calling it moves it on by one."""

    def __init__(self, what: str, total: int) -> None:
        self._bar = Bar(
            TextColumn(what),
            BarColumn(),
            MofNCompleteColumn(),
            TimeRemainingColumn(),
            TextColumn("left"),
            console=Console(stderr=True),
            transient=True,
        )
        self._task = self._bar.add_task(what, total=total)

    def __enter__(self) -> Progress:
        self._bar.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._bar.stop()

    def __call__(self) -> None:
        """One more is done."""
        self._bar.advance(self._task)
