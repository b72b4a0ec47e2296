"""Measurements of extracted teeth from a CSV file, one row a measurement.

Every mistake is named with its row and its field; a file is read whole or not at all.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import get_args

from lengthwise.classroom.answer_form import LONGEST_MM, SHORTEST_MM, tidy_typed_number
from lengthwise.classroom.csv_text import numbered_rows, read_text
from lengthwise.classroom.errors import ClassroomError
from lengthwise.evidence.case import CanalName

MOST_BYTES = 20_000_000
MOST_ROWS = 200_000
MOST_METHODS = 12
MOST_REPEATS = 50
MOST_PROBLEMS_SHOWN = 5
NEEDED = ("student", "tooth", "method", "measured_mm")
OPTIONAL = ("canal", "repeat", "true_mm", "low_mm", "high_mm")
NOT_USED = ("remark", "source", "status")
COLUMNS = ("student", "tooth", "canal", "method", "repeat", "measured_mm", "low_mm", "high_mm",
           "true_mm", "remark")  # fmt: skip
"""The columns of the template, in its order."""

_CODE = re.compile(r"[^\W_][\w .@+/#-]{0,39}")
_CANALS = {name.casefold(): name for name in get_args(CanalName)}


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measurement. Lengths in mm; what was not given is None.

    ``tooth`` is the code on the specimen; ``low_mm`` and ``high_mm`` are the student's 90 %
    interval; ``row`` is where it stands in the file.
    """

    row: int
    student: str
    tooth: str
    canal: str
    method: str
    repeat: int
    measured_mm: float
    low_mm: float | None = None
    high_mm: float | None = None
    true_mm: float | None = None


def template() -> str:
    """The text of an empty file to fill in."""
    return ",".join(COLUMNS) + "\n"


def read_measurements(path: Path) -> tuple[Measurement, ...]:
    """Read a file of measurements; raises `ClassroomError` naming rows and fields."""
    return parse_measurements(read_text(path, "file of measurements", MOST_BYTES), path.name)


def parse_measurements(text: str, name: str = "the file") -> tuple[Measurement, ...]:
    r"""The measurements in the text of a CSV file called ``name``.

    >>> (one,) = parse_measurements("student;tooth;method;measured_mm\ns1;T3;Paper point;24,5\n")
    >>> one.method, one.measured_mm, one.canal, one.repeat
    ('paper point', 24.5, 'single', 1)
    >>> parse_measurements("student,tooth,method,measured_mm\ns1,T3,film,245\n", "x.csv")
    Traceback (most recent call last):
        ...
    lengthwise.classroom.errors.ClassroomError: x.csv, row 2, field measured_mm: got 245; allowed
    is 5 to 45 mm; check the decimal point: 24.5?
    """
    rows = numbered_rows(text, name)
    if not rows:
        raise ClassroomError(f"{name} is empty; its first row is {template().strip()}.")
    heads = _heads(name, rows[0][1])
    if len(rows) == 1:
        raise ClassroomError(f"{name} has a first row and none under it; add one a measurement.")
    if len(rows) - 1 > MOST_ROWS:
        raise ClassroomError(
            f"{name} has {len(rows) - 1} rows; allowed are {MOST_ROWS}; split it by session."
        )
    problems: list[str] = []
    measured = []
    for number, cells in rows[1:]:
        if len(cells) != len(heads):
            problems.append(
                f"row {number}: got {len(cells)} cells; allowed are {len(heads)}, as in the first "
                "row; where commas separate columns, decimals have a point (24.5)"
            )
            continue
        found = _measurement(number, dict(zip(heads, cells, strict=True)), problems)
        if found is not None:
            measured.append(found)
    problems += _repeated(measured)
    measured = _spelt_alike(measured)
    measured = _with_true_lengths(measured, problems)
    problems += _too_many_methods(measured)
    _refuse(name, problems)
    return tuple(measured)


def _refuse(name: str, problems: list[str]) -> None:
    if problems:
        shown = [f"{name}, {problem}" for problem in problems[:MOST_PROBLEMS_SHOWN]]
        if len(problems) > len(shown):
            shown.append(f"... and {len(problems) - len(shown)} more.")
        raise ClassroomError("\n".join(shown))


def _heads(name: str, row: list[str]) -> list[str]:
    heads = [re.sub(r"[\s-]+", "_", cell.casefold()) for cell in row]
    allowed = (*NEEDED, *OPTIONAL, *NOT_USED)
    problems = [
        f"row 1, field {typed[:40]!r}: is not a column; allowed are {', '.join(allowed)}; "
        "check its spelling, or take the column out"
        for typed, head in zip(row, heads, strict=True)
        if head not in allowed
    ]
    problems += [
        f"row 1, field {head}: stands twice; allowed is once; rename one"
        for head in dict.fromkeys(heads)
        if heads.count(head) > 1
    ]
    problems += [f"row 1, field {h}: missing; add this column" for h in NEEDED if h not in heads]
    _refuse(name, problems)
    return heads


def _measurement(row: int, cells: dict[str, str], problems: list[str]) -> Measurement | None:
    before = len(problems)

    def said(field: str, what: str) -> None:
        problems.append(f"row {row}, field {field}: {what}")

    codes = {field: _code(cells[field]) for field in ("student", "tooth", "method")}
    for field, code in codes.items():
        if not code:
            got = f"got {cells[field][:40]!r}" if cells[field] else "it is empty"
            said(field, f"{got}; allowed is a short code of letters and digits; correct it")
    canal = cells.get("canal") or "single"
    if canal.casefold() not in _CANALS:
        said("canal", f"got {canal[:40]!r}; allowed are {', '.join(_CANALS.values())}; choose one")
    lengths = {
        field: _length(field, cells.get(field, ""), said)
        for field in ("measured_mm", "low_mm", "high_mm", "true_mm")
    }
    if not cells["measured_mm"]:
        said("measured_mm", "it is empty; type the length in mm, or take the row out")
    low, high = lengths["low_mm"], lengths["high_mm"]
    if low is not None and high is not None and low >= high:
        said("low_mm", f"got {low:g} with high_mm {high:g}; allowed is low before high; swap them")
    if bool(cells.get("low_mm")) != bool(cells.get("high_mm")):
        said("low_mm", "an interval has two ends; fill in both low_mm and high_mm, or neither")
    repeat = _repeat(cells.get("repeat", ""), said)
    measured = lengths["measured_mm"]
    if len(problems) > before or measured is None:
        return None
    method = _code(codes["method"].replace("_", " ").casefold())
    return Measurement(
        row, codes["student"], codes["tooth"], _CANALS[canal.casefold()], method, repeat, measured,
        low, high, lengths["true_mm"],
    )  # fmt: skip


# A session has few codes and lengths, each in many rows: what was worked out once is kept.
@lru_cache(maxsize=10_000)
def _code(cell: str) -> str:
    """The code without needless spaces; empty where it cannot be one."""
    code = " ".join(cell.split())
    return code if _CODE.fullmatch(code) else ""


@lru_cache(maxsize=10_000)
def _millimetres(cell: str) -> float | None:
    value = tidy_typed_number("length", cell).value
    return value if isinstance(value, float) and math.isfinite(value) else None


def _length(field: str, cell: str, said: Callable[[str, str], None]) -> float | None:
    if not cell:
        return None
    value = _millimetres(cell)
    if value is None:
        said(field, f"got {cell[:40]!r}; allowed is a length in mm; write it like 24.5")
        return None
    if not SHORTEST_MM <= value <= LONGEST_MM:
        slip = f": {value / 10:g}?" if SHORTEST_MM <= value / 10 <= LONGEST_MM else ""
        said(
            field,
            f"got {value:g}; allowed is {SHORTEST_MM:g} to {LONGEST_MM:g} mm; check the decimal "
            f"point{slip or ' and the unit'}",
        )
        return None
    return value


def _repeat(cell: str, said: Callable[[str, str], None]) -> int:
    if not cell:
        return 1
    number = re.fullmatch(r"(\d{1,4})(?:[.,]0+)?", cell)
    if number is None or not 1 <= int(number[1]) <= MOST_REPEATS:
        said("repeat", f"got {cell[:40]!r}; allowed is 1 to {MOST_REPEATS}; number the repeats")
        return 1
    return int(number[1])


def _repeated(measured: Iterable[Measurement]) -> list[str]:
    """Rows that say the same measurement again."""
    first: dict[tuple[object, ...], int] = {}
    problems = []
    for one in measured:
        which = (one.student.casefold(), one.tooth.casefold(), one.canal, one.method, one.repeat)
        if which in first:
            problems.append(
                f"row {one.row}, field repeat: got {one.repeat} again for student {one.student}, "
                f"tooth {one.tooth}, canal {one.canal}, {one.method}, as in row {first[which]}; "
                "allowed is each number once; number the repeats 1, 2, ..., or take the row out"
            )
        first.setdefault(which, one.row)
    return problems


def _spelt_alike(measured: list[Measurement]) -> list[Measurement]:
    """A code in capitals and in small letters is one code, spelt as it came first."""
    first: dict[str, str] = {}
    same = []
    for one in measured:
        student = first.setdefault(f"student {one.student.casefold()}", one.student)
        tooth = first.setdefault(f"tooth {one.tooth.casefold()}", one.tooth)
        alike = student == one.student and tooth == one.tooth
        same.append(one if alike else replace(one, student=student, tooth=tooth))
    return same


def _with_true_lengths(measured: list[Measurement], problems: list[str]) -> list[Measurement]:
    """A canal has one true length: it is filled in where only some of its rows give it."""
    known: dict[tuple[str, str], Measurement] = {}
    for one in measured:
        if one.true_mm is None:
            continue
        first = known.setdefault((one.tooth, one.canal), one)
        if first.true_mm != one.true_mm:
            problems.append(
                f"row {one.row}, field true_mm: got {one.true_mm:g} for tooth {one.tooth}, canal "
                f"{one.canal}, but row {first.row} has {first.true_mm:g}; allowed is one true "
                "length a canal; correct one, or give each specimen a code of its own"
            )
    return [
        replace(one, true_mm=known[which].true_mm)
        if one.true_mm is None and (which := (one.tooth, one.canal)) in known
        else one
        for one in measured
    ]


def _too_many_methods(measured: Iterable[Measurement]) -> list[str]:
    methods = {one.method: one.row for one in reversed(list(measured))}
    if len(methods) <= MOST_METHODS:
        return []
    some = ", ".join(sorted(methods)[:MOST_METHODS])
    return [
        f"row {max(methods.values())}, field method: got {len(methods)} different methods ({some} "
        f"...); allowed are {MOST_METHODS}; write one method in one way"
    ]
