"""The class list: a CSV file with a ``student`` column, as a spreadsheet saves it.

An error names the row and the field.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder, checked_name
from lengthwise.classroom.csv_text import numbered_rows, read_text
from lengthwise.classroom.errors import ClassroomError

MOST_BYTES = 1_000_000
MOST_STUDENTS = 2_000
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
    """Read a class list; raises `ClassroomError` naming the row and the field."""
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
    students = [_student(name, number, row, heads) for number, row in numbered[1:]]
    if not students:
        raise ClassroomError(f"{name} has a first row but no students under it; add one id a row.")
    if len(students) > MOST_STUDENTS:
        raise ClassroomError(
            f"{name} has {len(students)} students; a class has at most {MOST_STUDENTS}."
        )
    _refuse_repeats(name, [number for number, _ in numbered[1:]], students)
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


def _student(name: str, number: int, row: list[str], heads: dict[str, int]) -> Student:
    values = {
        head: unicodedata.normalize("NFC", row[column]) if column < len(row) else ""
        for head, column in heads.items()
    }
    where = f"{name}, row {number}, field student"
    given = values["id"]
    if not given:
        raise ClassroomError(
            f"{where}: it is empty; give every student an id, or take the row out."
        )
    if _REFORMATTED.fullmatch(given):
        raise ClassroomError(
            f"{where}: {given!r} looks like an id that a spreadsheet turned into a decimal number; "
            "format the column as text and type the id again."
        )
    try:
        checked_name("student id", given)
    except ClassroomError as error:
        raise ClassroomError(f"{where}: {error}") from None
    return Student(**values)


def _refuse_repeats(name: str, numbers: list[int], students: list[Student]) -> None:
    seen: dict[str, int] = {}
    for number, student in zip(numbers, students, strict=True):
        folded = student.id.casefold()
        if folded in seen:
            raise ClassroomError(
                f"{name}, row {number}, field student: {student.id!r} is already in row "
                f"{seen[folded]}; every student needs an id of their own."
            )
        seen[folded] = number


def class_list(taught: ClassFolder) -> tuple[Student, ...]:
    """The students of a class in order of their ids, from its gradebook."""
    from nbgrader.api import Gradebook

    from lengthwise.classroom.marks_table import gradebook_url

    with Gradebook(gradebook_url(taught)) as gradebook:
        known = [
            Student(one.id, one.first_name or "", one.last_name or "", one.email or "")
            for one in gradebook.students
        ]
    return tuple(sorted(known, key=lambda one: one.id))
