"""What stands in a student's notebook so far: every question, and whether it is answered.

The same rules as in the checks of the notebook and in grading. Answers are read, never run, and
nothing here knows whether one is right.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lengthwise.classroom.answer_form import (
    FIELDS,
    LENGTH_FIELDS,
    determination_form,
    exercise_form,
    tidy_word,
)
from lengthwise.classroom.cells import Cell, holds_answer, label, source_of
from lengthwise.classroom.form_words import form_in_words
from lengthwise.classroom.read_answers import CellReading, read_cell
from lengthwise.classroom.worksheet_names import asked_of
from lengthwise.reconciliation import NEXT_STEPS

IDENTITY = "identity"
NOT_ANSWERED = "nothing is answered"
_STILL_ASKS = re.compile(r"\*Write [^*]*\*")


@dataclass(frozen=True)
class Answer:
    """One question: whether it is answered in full, and what is to be said of it (else empty)."""

    name: str
    complete: bool
    said: str = ""


def answer_cells(notebook: Mapping[str, Any]) -> dict[str, Cell]:
    """The cells that a student fills in, by label; of several copies the last that is filled in."""
    found: dict[str, Cell] = {}
    for cell in notebook["cells"]:
        if label(cell) and holds_answer(cell) and (label(cell) not in found or is_touched(cell)):
            found[label(cell)] = cell
    return found


def is_touched(cell: Mapping[str, Any]) -> bool:
    """Whether something was typed into an answer cell.

    >>> stub = {"cell_type": "code", "source": "foramen_mm = ...  # a number"}
    >>> is_touched(stub), is_touched({**stub, "source": "foramen_mm = 25.5  # a number"})
    (False, True)
    """
    source = source_of(cell)
    if cell.get("cell_type") == "markdown":
        return bool(source.strip()) and not _STILL_ASKS.fullmatch(source.strip())
    reading = read_cell(source)
    return bool(reading.unread) or any(value is not ... for value in reading.values.values())


def answers_so_far(
    notebook: Mapping[str, Any], mine: Mapping[str, Any] | None
) -> tuple[Answer, ...]:
    """Every question of a notebook in its order.

    ``mine`` holds the student's cases and items as they stand in ``cases.json``; without them
    (None) only whether something was typed can be told.
    """
    cells = answer_cells(notebook)
    cases = mine["cases"] if mine else {}
    items = mine["items"] if mine else {}
    names = [name for name in cells if name != IDENTITY]
    gone = [name for name in (*cases, *items) if name not in cells]
    return tuple(
        [_answer(name, cells[name], cases, items) for name in names]
        + [Answer(name, False, "its cell is no longer in the notebook") for name in gone]
    )


def _answer(name: str, cell: Cell, cases: Mapping[str, Any], items: Mapping[str, Any]) -> Answer:
    if not is_touched(cell):
        return Answer(name, False, NOT_ANSWERED)
    reading = read_cell(source_of(cell))
    if name in items:
        return _item(name, reading, items[name]["options"])
    if name not in cases:
        return Answer(name, True)
    if "asked" not in cases[name]:
        return _determination(name, reading)
    return _exercise(name, reading, cases[name])


def _item(name: str, reading: CellReading, options: Mapping[str, str]) -> Answer:
    tidied = tidy_word(name, reading.values.get(name), options)
    problem = tidied.problem.removeprefix(f"{name}: ") or _unread(reading, [name])
    if not problem and tidied.value is None:
        return Answer(name, False, NOT_ANSWERED)
    return Answer(name, not problem, problem)


def _determination(name: str, reading: CellReading) -> Answer:
    unread = _unread(reading, FIELDS)
    if unread:
        return Answer(name, False, unread)
    form = determination_form(reading.values, NEXT_STEPS)
    missing = [field for field in FIELDS if getattr(form, field) is None]
    not_yet = missing == list(LENGTH_FIELDS) and form.next_step != "confirm"
    if form.problems or (missing and not not_yet):
        return Answer(name, False, NOT_ANSWERED if form.blank else form_in_words(form))
    return Answer(name, True, f"look once more: {'; '.join(form.doubts)}" if form.doubts else "")


def _exercise(name: str, reading: CellReading, case: Mapping[str, Any]) -> Answer:
    asked = asked_of(case)
    unread = _unread(reading, [each.name for each in asked])
    form = exercise_form(reading.values, asked)
    if unread or form.problems:
        return Answer(name, False, unread or form.problems[0])
    if "happens" in case:  # rounds: one action is enough, then a determination as anywhere else
        begun = len(form.missing) < len(asked)
        return _determination(name, reading) if begun else Answer(name, False, NOT_ANSWERED)
    if form.missing:
        return Answer(name, False, f"still to fill in: {', '.join(form.missing)}")
    return Answer(name, True)


def _unread(reading: CellReading, names: list[str] | tuple[str, ...]) -> str:
    told = [f"{name} could not be read: {reading.unread[name]}" for name in names
            if name in reading.unread]  # fmt: skip
    return told[0] if told else ""
