"""The student's own log: one line of JSON an event, written through to the disk at once.

It lies in the student's data folder, outside the course, so that a newer course unpacked over the
old one leaves it alone. Everybody under one login of a computer writes into the same log; who wants
to begin anew puts it aside. Nothing is ever changed in it, only added; a line that was torn when
the machine stopped is passed over and said. It holds what was done in practice and nothing else.

What cannot be written waits, and is written first when the next event is. A disk may say no after
it has taken a line, or a piece of one: that is taken back where possible, and every line has a
mark of its own, so that what was written twice is read once.
"""

import contextlib
import json
import math
import os
import secrets
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

FOLDER_VARIABLE = "LENGTHWISE_DATA"

MARK = "mark"
"""The field that tells one line from all others; nobody but the log sees it."""

Event = Mapping[str, Any]


def data_folder() -> Path:
    """Where a program keeps a person's data on this system; `LENGTHWISE_DATA` overrides it.

    >>> data_folder().name
    'lengthwise'
    """
    chosen = os.environ.get(FOLDER_VARIABLE)
    if chosen:
        return Path(chosen) / "lengthwise"
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData/Local")) / "lengthwise"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "lengthwise"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local/share") / "lengthwise"


@dataclass(frozen=True)
class Kept:
    """What a log holds.

    Attributes
    ----------
    events : in order.
    torn : how many lines could not be read.
    """

    events: tuple[Event, ...]
    torn: int


class PracticeLog:
    """A log in a folder; the folder is made when the first event is added.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     log = PracticeLog(Path(folder))
    ...     log.add({"event": "act", "word": "dry"})
    ...     log.read().events
    ({'event': 'act', 'word': 'dry'},)
    """

    file: ClassVar[str] = "practice.jsonl"

    def __init__(self, folder: Path | None = None) -> None:
        self.path = (data_folder() if folder is None else folder) / self.file
        self._known_bytes = 0
        self._waiting: list[bytes] = []

    @property
    def written_elsewhere(self) -> bool:
        """Whether it is not as it was read and added to here: somebody else has written, too.

        >>> from tempfile import TemporaryDirectory
        >>> with TemporaryDirectory() as folder:
        ...     log, other = PracticeLog(Path(folder)), PracticeLog(Path(folder))
        ...     log.add({"event": "act"})
        ...     before = log.written_elsewhere
        ...     other.add({"event": "act"})
        ...     before, log.written_elsewhere
        (False, True)
        """
        try:
            size_bytes = self.path.stat().st_size
        except OSError:  # put aside, or never begun
            size_bytes = 0
        return size_bytes != self._known_bytes

    def read(self) -> Kept:
        """Everything that was written whole.

        Raises
        ------
        OSError
            The file is there and cannot be read.
        """
        whole = self.path.read_bytes() if self.path.exists() else b""
        self._known_bytes = len(whole)
        events, torn, marks = [], 0, set[str]()
        for line in whole.split(b"\n"):
            if not line.strip():
                continue
            try:
                event = json.loads(line, parse_float=_finite, parse_constant=_finite)
            except (ValueError, RecursionError):  # torn, or not even text
                event = None
            if not isinstance(event, dict) or "event" not in event:
                torn += 1
                continue
            mark = str(event.pop(MARK, ""))
            if not mark or mark not in marks:
                events.append(event)
            marks.add(mark)
        return Kept(tuple(events), torn)

    def put_aside(self) -> Path | None:
        """Give the log another name, so that the next event begins a new one.

        What still waits is written first: it belongs to the log that is put aside.

        Returns
        -------
        Path or None
            Where it lies now; None where there was none.

        Raises
        ------
        OSError
            It cannot be renamed, or what waits cannot be written.
        """
        self._write_what_waits()
        if not self.path.exists():
            self._known_bytes = 0
            return None
        number = 1
        while (aside := self.path.with_suffix(f".{number}.jsonl")).exists():
            number += 1
        lies_at = self.path.rename(aside)
        self._known_bytes = 0
        return lies_at

    def add(self, event: Event) -> None:
        """Add one event; when this returns it is on the disk, and all that waited before it.

        Raises
        ------
        OSError
            It cannot be written; it waits, and is written before the next one.
        """
        told = {**event, MARK: secrets.token_hex(8)}
        line = json.dumps(told, ensure_ascii=False, allow_nan=False).encode() + b"\n"
        self._waiting.append(line)
        self._write_what_waits()

    def _write_what_waits(self) -> None:
        while self._waiting:
            self._write(self._waiting[0])
            del self._waiting[0]

    def _write(self, line: bytes) -> None:
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with self.path.open("a+b", buffering=0) as file:
            end = file.seek(0, os.SEEK_END)
            if end:
                file.seek(end - 1)
                if file.read(1) != b"\n":  # torn by a stop: it must not spoil this line
                    line = b"\n" + line
            written = 0
            try:
                while written < len(line):
                    written += file.write(line[written:])
                os.fsync(file.fileno())
            except OSError:
                if file.seek(0, os.SEEK_END) == end + written:  # nobody has written after it
                    with contextlib.suppress(OSError):
                        file.truncate(end)
                        written = 0
                raise
            finally:
                self._known_bytes += written


def _finite(told: str) -> float:
    """JSON knows no number without an end, whatever a program may write for one."""
    number = float(told)
    if not math.isfinite(number):
        raise ValueError(f"{told} is no finite number")
    return number
