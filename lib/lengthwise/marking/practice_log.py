"""The student's own log: one line of JSON an event, written through to the disk at once.

It lies in the student's data folder, outside the course, so that a newer course unpacked over the
old one leaves it alone. Everybody under one login of a computer writes into the same log; who wants
to begin anew puts it aside. Nothing is ever changed in it, only added; a line that was torn when
the machine stopped is passed over and said. It holds what was done in practice and nothing else.
"""

import json
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

FOLDER_VARIABLE = "LENGTHWISE_DATA"

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

    def read(self) -> Kept:
        """Everything that was written whole.

        Raises
        ------
        OSError
            The file is there and cannot be read.
        """
        if not self.path.exists():
            return Kept((), 0)
        events, torn = [], 0
        for line in self.path.read_bytes().split(b"\n"):
            if not line.strip():
                continue
            try:
                event = json.loads(line)
            except ValueError:  # torn, or not even text
                event = None
            if isinstance(event, dict) and "event" in event:
                events.append(event)
            else:
                torn += 1
        return Kept(tuple(events), torn)

    def put_aside(self) -> Path | None:
        """Give the log another name, so that the next event begins a new one.

        Returns
        -------
        Path or None
            Where it lies now; None where there was none.

        Raises
        ------
        OSError
            It cannot be renamed.
        """
        if not self.path.exists():
            return None
        number = 1
        while (aside := self.path.with_suffix(f".{number}.jsonl")).exists():
            number += 1
        return self.path.rename(aside)

    def add(self, event: Event) -> None:
        """Add one event; when this returns it is on the disk.

        Raises
        ------
        OSError
            It cannot be written.
        """
        self.path.parent.mkdir(parents=True, exist_ok=True)
        line = json.dumps(dict(event), ensure_ascii=False, allow_nan=False).encode() + b"\n"
        with self.path.open("a+b", buffering=0) as file:
            end = file.seek(0, os.SEEK_END)
            if end:
                file.seek(end - 1)
                if file.read(1) != b"\n":  # torn by a stop: it must not spoil this line
                    line = b"\n" + line
            written = 0
            while written < len(line):
                written += file.write(line[written:])
            os.fsync(file.fileno())
