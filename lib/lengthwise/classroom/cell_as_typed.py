"""A cell that a student ran in the notebook, read as grading reads it, with the line of every slip.

The notebook's own check speaks of these values: what it calls right in form is what is marked.
"""

from __future__ import annotations

import re
from collections.abc import MutableMapping
from dataclasses import dataclass
from typing import Any

from lengthwise.classroom.answer_form import BareWord
from lengthwise.classroom.read_answers import read_cell


@dataclass(frozen=True)
class AsTyped:
    """What a cell says.

    Attributes
    ----------
    values : by name; three dots for what could not be read.
    mended : what was read as meant although the notebook could not run it, one sentence each.
    unread : what could not be read, and why, one sentence each.
    """

    values: dict[str, object]
    mended: tuple[str, ...]
    unread: tuple[str, ...]

    def put_into(self, names: MutableMapping[str, Any]) -> None:
        """Let a notebook's names hold what is read; a word that stands for itself there stays."""
        for name, value in self.values.items():
            word = value.word if isinstance(value, BareWord) else None
            if word is None or str(names.get(name)).casefold() != word.casefold():
                names[name] = value


def as_typed(cell: str, names: frozenset[str]) -> AsTyped:
    r"""Read the answers called `names` in a cell. Never raises, never runs anything.

    >>> read = as_typed("low_mm = 23\nhigh_mm = 24,1 mm\nforamen_mm = max(1, 2)",
    ...                 frozenset({"low_mm", "high_mm", "foramen_mm"}))
    >>> read.values
    {'low_mm': 23, 'high_mm': 24.1, 'foramen_mm': Ellipsis}
    >>> read.mended
    ('line 2, high_mm: 24,1 mm was read as 24.1 (write the number alone, with a point)',)
    >>> read.unread[0][:57]
    'line 3, foramen_mm: it holds a piece of program; answers '
    """
    reading = read_cell(cell)
    told = {name: value for name, value in reading.values.items() if name in names}
    mended = [reading.mended[name] for name in told if name in reading.mended] + [
        _word(name, value.word)
        for name, value in told.items()
        if isinstance(value, BareWord) and name not in reading.mended
    ]
    unread = [f"{name}: {reading.unread[name]}" for name in reading.unread if name in names]
    lost: dict[str, object] = {name: ... for name in reading.unread if name in names}
    return AsTyped(told | lost, _with_lines(cell, mended), _with_lines(cell, unread))


def _word(name: str, typed: str) -> str:
    how = "one letter goes" if re.fullmatch(r"i\d", name) else "words go"
    like = "B" if re.fullmatch(r"i\d", name) else typed
    return f'{name}: {typed} was read as a word; {how} between quotes, like {name} = "{like}"'


def _with_lines(cell: str, sentences: list[str]) -> tuple[str, ...]:
    """Each sentence with the line of the name that it begins with, in order of the lines."""
    placed = [(_line_of(cell, one.partition(":")[0]), one) for one in sentences]
    return tuple(f"line {line}, {one}" if line else one for line, one in sorted(placed))


def _line_of(cell: str, name: str) -> int:
    """The last line that begins with a name, from 1; 0 where none does."""
    lines = enumerate(cell.splitlines(), start=1)
    return max((at for at, line in lines if re.match(rf"\s*{re.escape(name)}\b", line)), default=0)
