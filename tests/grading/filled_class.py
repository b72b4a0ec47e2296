"""A class whose students all typed the same kind of answers into a1: not all right, on purpose.

Half of one value is lost, one value and one letter are wrong, so that neither nothing nor
everything can pass for what a student earned.
"""

from __future__ import annotations

import copy
import csv
import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from grading_tools import class_with, here, letters, run_lengthwise
from lengthwise.classroom.answer_key import StudentKey, read_key
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.feedback import page_path
from lengthwise.classroom.marks_table import marks_table
from lengthwise.classroom.workers import run_for_each
from lengthwise.marking.exercise import Exercise

ASSIGNMENT = "a1_landmarks"
Notebook = dict[str, Any]

# Worked out by hand: four values of 4 points share q2, three share q4; one point an item.
EARNED = {"q1": 4.0, "q2": 3.5, "q3": 4.0, "q4": 2.67, "i1": 1.0, "i2": 0.0, "i3": 1.0, "i4": 1.0}


def answers(key: StudentKey, student: str) -> dict[str, str]:
    """The answer cells as typed."""
    cells = {"identity": f'student_id = "{student}"'}
    for name, case in key.cases.items():
        assert isinstance(case, Exercise)
        values = {each.name: each.expected for each in case.asked}
        if name == "q2":  # 0.3 mm off where 0.1 earns all and 0.5 nothing: half of a quarter
            values["short_of_foramen_mm"] = float(values["short_of_foramen_mm"]) + 0.3
        if name == "q4":
            values["worst_error_mm"] = float(values["worst_error_mm"]) + 3
        cells[name] = "\n".join(f"{one} = {_typed(value)}" for one, value in values.items())
    right, wrong = letters(key, "none"), "ABCD"
    chosen = {**right, "i2": next(letter for letter in wrong if letter != right["i2"])}
    return cells | {name: f'{name} = "{letter}"' for name, letter in chosen.items()}


def _typed(value: float | str) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    return f"{value:.2f}" if value != int(value) else f"{int(value)}"


def place(notebook: Notebook, name: str) -> int:
    """Where the cell with this label stands."""
    return next(i for i, cell in enumerate(notebook["cells"]) if label(cell) == name)


def cell_of(notebook: Notebook, name: str) -> dict[str, Any]:
    """The cell with this label."""
    cells: list[dict[str, Any]] = notebook["cells"]
    return cells[place(notebook, name)]


def code(source: str) -> dict[str, Any]:
    """A code cell of the student's own."""
    return {"cell_type": "code", "metadata": {}, "source": source, "outputs": []}


@dataclass(frozen=True)
class FilledClass:
    """A released class and the notebook that each student filled in."""

    taught: ClassFolder
    notebooks: dict[str, Notebook]

    def copy_of(self, student: str) -> Notebook:
        """A student's notebook, to be damaged."""
        return copy.deepcopy(self.notebooks[student])


def filled_class(where: Path, course: Path, students: tuple[str, ...]) -> FilledClass:
    """Make the class and fill in everybody's notebook."""
    taught = class_with(ASSIGNMENT, where, course, students)
    released = json.loads(taught.released_notebook(ASSIGNMENT).read_text("utf-8"))
    for cell in released["cells"]:
        cell["source"] = source_of(cell)
    key = read_key(taught, ASSIGNMENT)
    notebooks = {one: filled_in(released, answers(key.of(one), one)) for one in students}
    return FilledClass(taught, notebooks)


@dataclass(frozen=True)
class Graded:
    """What came of a class: each command's words, by student the marks, and the pages."""

    taught: ClassFolder
    said: dict[str, str]
    marks: Mapping[str, Mapping[str, str]]

    def line(self, command: str, student: str) -> str:
        """What a command said of a student."""
        lines = self.said[command].splitlines()
        return "\n".join(
            line for line in lines if re.search(rf"(?<![\w-]){student}(?![\w-])", line)
        )

    def page(self, student: str) -> str:
        """A student's feedback."""
        return page_path(self.taught, student, ASSIGNMENT).read_text("utf-8")


def graded(
    taught: ClassFolder,
    handed_in: Iterable[Path],
    pages: Iterable[str],
    limit: Callable[[], None] | None = None,
) -> Graded:
    """Collect from each place and grade with the real commands; write these students' pages."""
    said = {"collect": ""}
    for source in handed_in:
        done = run_lengthwise("collect", source, cwd=taught.root, limit=limit)
        said["collect"] += done.stdout + done.stderr
    done = run_lengthwise("grade", cwd=taught.root, limit=limit)
    assert done.returncode == 0, done.stdout + done.stderr
    said["grade"] = done.stdout
    written = run_for_each("generate_feedback", taught, ASSIGNMENT, pages, engine=here)
    assert not [one for one in written if one.failed]
    rows = csv.DictReader(marks_table(taught, ASSIGNMENT).to_csv().splitlines())
    return Graded(taught, said, {row["student"]: row for row in rows})
