"""The marks of an assignment as a table, from nbgrader's gradebook."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.gradebook import opened_gradebook
from lengthwise.counted import counted
from lengthwise.whole_file import write_whole

NOTHING_COLLECTED = "nothing collected"
"""The remark of somebody whose file has not come, or came and was not taken."""


@dataclass(frozen=True)
class MarksRow:
    """One student: points by part (None: not marked), total, and what is still to be done."""

    student: str
    points: dict[str, float | None]
    total: float | None
    by_hand: tuple[str, ...] = ()
    remark: str = ""


@dataclass(frozen=True)
class MarksTable:
    """The whole class: parts in the notebook's order with their maximum, one row a student."""

    assignment: str
    maxima: dict[str, float]
    rows: tuple[MarksRow, ...]

    @property
    def max_total(self) -> float:
        """The points of the whole assignment."""
        return sum(self.maxima.values())

    def shown(self, row: MarksRow) -> tuple[str, ...]:
        """A row for the screen: points to two places, a dash where nothing is marked yet."""
        values = [*(row.points.get(part) for part in self.maxima), row.total]
        points = ["-" if value is None else f"{value:.2f}" for value in values]
        return row.student, *points, " ".join(row.by_hand)

    @property
    def notes(self) -> tuple[str, ...]:
        """What stands under the table: who has no marks, and what else was remarked."""
        with_remark: dict[str, list[str]] = {}
        for row in self.rows:
            with_remark.setdefault(row.remark, []).append(row.student)
        return tuple(
            f"{remark[0].upper()}{remark[1:]}: {', '.join(students)}."
            for remark, students in with_remark.items()
            if remark
        )

    def to_csv(self) -> str:
        """The table as CSV: student, one column a part, total, max, needs_hand_marking, remark."""
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(["student", *self.maxima, "total", "max", "needs_hand_marking", "remark"])
        for row in self.rows:
            writer.writerow(
                [
                    row.student,
                    *(_written(row.points.get(part)) for part in self.maxima),
                    _written(row.total),
                    _written(self.max_total),
                    " ".join(row.by_hand),
                    row.remark,
                ]
            )
        return text.getvalue()


def _written(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}".rstrip("0").rstrip(".")


def part_name(label: str) -> str:
    """The name of a part for people: q1_check is q1."""
    return label.removesuffix("_check")


def marks_table(taught: ClassFolder, assignment: str) -> MarksTable:
    """Read the marks of an assignment; of whom nothing is collected has an empty row."""
    from nbgrader.api import MissingEntry

    collected = set(taught.submitted_students(assignment))
    with opened_gradebook(taught) as gradebook:
        notebook = gradebook.find_notebook(assignment, assignment)
        maxima = {
            part_name(cell.name): float(cell.max_score)
            for cell in sorted(notebook.grade_cells, key=lambda cell: place_of(cell.name))
        }
        rows = []
        for student in sorted(one.id for one in gradebook.students):
            try:
                graded = gradebook.find_submission_notebook(assignment, assignment, student)
            except MissingEntry:
                remark = "not graded yet" if student in collected else NOTHING_COLLECTED
                rows.append(MarksRow(student, {}, None, remark=remark))
                continue
            points = {
                part_name(grade.name): _points(grade.auto_score, grade.manual_score, grade.score)
                for grade in graded.grades
            }
            by_hand = parts_by_hand(graded.grades)
            penalty = graded.late_submission_penalty or 0.0
            rows.append(
                MarksRow(
                    student,
                    points,
                    float(graded.score) - penalty,
                    by_hand,
                    "; ".join(
                        [
                            *([f"late: {counted(penalty, 'point')} taken off"] if penalty else []),
                            *outdated_hand_marks(graded.grades),
                        ]
                    ),
                )
            )
    return MarksTable(assignment, maxima, tuple(rows))


def outdated_hand_marks(grades: Iterable[Any]) -> tuple[str, ...]:
    """Which hand marks stand on an answer that changed after they were given, in sentences.

    Such a mark still counts, but its part waits for the instructor again.
    """
    changed = [one for one in grades if one.needs_manual_grade and one.manual_score is not None]
    return tuple(
        f"{part_name(one.name)} changed after {counted(one.manual_score, 'point')} by hand; "
        "mark it again"
        for one in sorted(changed, key=lambda one: place_of(one.name))
    )


def parts_by_hand(grades: Iterable[Any]) -> tuple[str, ...]:
    """The parts that an instructor has still to mark, of nbgrader's grades of one notebook."""
    parts = (part_name(grade.name) for grade in grades if grade.needs_manual_grade)
    return tuple(sorted(parts, key=place_of))


def _points(auto: float | None, manual: float | None, score: float) -> float | None:
    return None if auto is None and manual is None else float(score)


def place_of(name: str) -> tuple[int, int, str]:
    """For sorting parts or labels: cases first, then items, then what is written."""
    number = part_name(name)[1:]
    if name[:1] in "qi" and number.isdigit():
        return "qi".index(name[0]), int(number), name
    return 2, 0, name


def write_marks(taught: ClassFolder, table: MarksTable) -> Path:
    """Write the table into the class folder as ``marks_<assignment>.csv``."""
    path = taught.root / f"marks_{table.assignment}.csv"
    write_whole(path, table.to_csv())
    return path
