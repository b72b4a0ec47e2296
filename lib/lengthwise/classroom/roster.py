"""The class list: a CSV file with a ``student`` column, as a spreadsheet saves it.

An error names the row and the field.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder, checked_name
from lengthwise.classroom.csv_text import numbered_rows, read_text
from lengthwise.classroom.errors import ClassroomError

MOST_BYTES = 1_000_000
MOST_STUDENTS = 2_000
MOST_SAID = 20
"""Mistakes that are named at once."""

_ID_HEADS = ("student", "student_id", "id")
_OTHER_HEADS = ("first_name", "last_name", "email")
_REFORMATTED = re.compile(r"\d+[.,]0+|\d+(?:[.,]\d+)?[eE]\+?\d+")


@dataclass(frozen=True)
class Student:
    """One line of the class list; all but the id may be empty."""

    id: str
    first_name: str = ""
    last_name: str = ""
    email: str = ""


def read_roster(path: Path) -> tuple[Student, ...]:
    """Read a class list; raises `ClassroomError` naming row and field of every mistake."""
    return parse_roster(read_text(path, "class list", MOST_BYTES), path.name)


def parse_roster(text: str, name: str = "the class list") -> tuple[Student, ...]:
    r"""The students in the text of a class list called ``name``.

    >>> parse_roster("student;first_name\nstudent-01;Ada\n")
    (Student(id='student-01', first_name='Ada', last_name='', email=''),)
    >>> parse_roster("student\na\nb\na\n", "roster.csv")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    lengthwise.classroom.errors.ClassroomError: roster.csv, row 4, field student: 'a' is already...
    """
    numbered = numbered_rows(text, name)
    if not numbered:
        raise ClassroomError(
            f"{name} is empty; its first row is 'student', then one student id a row."
        )
    heads = _heads(name, numbered[0][1])
    rows = numbered[1:]
    if not rows:
        raise ClassroomError(f"{name} has a first row but no students under it; add one id a row.")
    if len(rows) > MOST_STUDENTS:
        raise ClassroomError(
            f"{name} has {len(rows)} students; a class has at most {MOST_STUDENTS}."
        )
    first_rows: dict[str, int] = {}
    students, mistakes = [], []
    for number, row in rows:
        student = _student(row, heads)
        mistake = _mistake_in(student.id, first_rows)
        if mistake:
            mistakes.append(f"{name}, row {number}, field student: {mistake}")
        first_rows.setdefault(student.id.casefold(), number)
        students.append(student)
    if mistakes:
        more = [f"and {len(mistakes) - MOST_SAID} more"] if len(mistakes) > MOST_SAID else []
        raise ClassroomError("\n".join([*mistakes[:MOST_SAID], *more]))
    return tuple(students)


def _heads(name: str, row: list[str]) -> dict[str, int]:
    """Which column holds what."""
    cleaned = [re.sub(r"[\s-]+", "_", cell.casefold()) for cell in row]
    ids = [column for column, head in enumerate(cleaned) if head in _ID_HEADS]
    if not ids:
        raise ClassroomError(
            f"{name}, row 1: there is no column 'student' (found: {', '.join(row)}); "
            "name the column of the ids 'student'."
        )
    heads = {"id": ids[0]}
    for column, head in enumerate(cleaned):
        if head in _OTHER_HEADS:
            heads[head] = column
    return heads


def _student(row: list[str], heads: dict[str, int]) -> Student:
    values = {
        head: unicodedata.normalize("NFC", row[column]) if column < len(row) else ""
        for head, column in heads.items()
    }
    return Student(**values)


def _mistake_in(given: str, first_rows: Mapping[str, int]) -> str:
    """What is wrong with an id, or nothing; ``first_rows`` says where ids stood already."""
    if not given:
        return "it is empty; give every student an id, or take the row out."
    if _REFORMATTED.fullmatch(given):
        return (
            f"{given!r} looks like an id that a spreadsheet turned into a decimal number; "
            "format the column as text and type the id again."
        )
    if given.casefold() in first_rows:
        return (
            f"{given!r} is already in row {first_rows[given.casefold()]}; every student needs an "
            "id of their own."
        )
    try:
        checked_name("student id", given)
    except ClassroomError as error:
        return str(error)
    return ""


def class_list(taught: ClassFolder) -> tuple[Student, ...]:
    """The students of a class in order of their ids, from its gradebook."""
    from lengthwise.classroom.gradebook import opened_gradebook

    with opened_gradebook(taught) as gradebook:
        known = [
            Student(one.id, one.first_name or "", one.last_name or "", one.email or "")
            for one in gradebook.students
        ]
    return tuple(sorted(known, key=lambda one: one.id))
