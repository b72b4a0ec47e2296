"""A second grader's marks of the written reason, and how well two graders agree."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from lengthwise.classroom.agreement import intraclass_correlation, kappa, limits_of_agreement
from lengthwise.classroom.answer_form import tidy_typed_number
from lengthwise.classroom.csv_text import numbered_rows, read_text
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.marks_table import MarksTable
from lengthwise.classroom.report_page import Section, figure_text, percent_text, range_text
from lengthwise.counted import counted
from lengthwise.marking.sheet import Sheet
from lengthwise.marking.student_id import folded_id

MOST_BYTES = 1_000_000
HEADS = ("student", "points")
REASON = "reason"
FEWEST_REASONS = 10
"""Fewer say next to nothing of two graders; a judgement, as on the page."""


def read_second_marks(path: Path, table: MarksTable) -> dict[str, float]:
    """Points by student from a CSV with the columns student and points.

    Students without points are left out. Raises `ClassroomError` naming row and field.
    """
    return parse_second_marks(read_text(path, "file of marks", MOST_BYTES), table, path.name)


def parse_second_marks(text: str, table: MarksTable, name: str = "the file") -> dict[str, float]:
    """The points in the text of a CSV file called ``name``."""
    if REASON not in table.maxima:
        raise ClassroomError(
            f"{table.assignment} has no written reason, so there is nothing that two graders mark."
        )
    rows = numbered_rows(text, name)
    heads = [cell.casefold() for cell in rows[0][1]] if rows else []
    if any(heads.count(head) != 1 for head in HEADS):
        raise ClassroomError(f"{name}, row 1: allowed are the columns student and points, once.")
    known = {folded_id(row.student): row.student for row in table.rows}
    most = table.maxima[REASON]
    points: dict[str, float] = {}
    for number, cells in rows[1:]:
        if len(cells) != len(heads):
            raise ClassroomError(
                f"{name}, row {number}: got {len(cells)} cells; allowed are {len(heads)}, as in "
                "the first row."
            )
        given = dict(zip(heads, cells, strict=True))
        student = known.get(folded_id(given["student"]))
        if student is None:
            raise ClassroomError(
                f"{name}, row {number}, field student: got {given['student'][:40]!r}, who is not "
                "on the class list; correct the id, or take the row out."
            )
        if student in points:
            raise ClassroomError(
                f"{name}, row {number}, field student: {student} stands twice; allowed is once."
            )
        if given["points"]:
            points[student] = _points(given["points"], most, f"{name}, row {number}, field points")
    return points


def _points(cell: str, most: float, where: str) -> float:
    value = tidy_typed_number("points", cell).value
    if re.search(r"[a-z]", cell, re.IGNORECASE) or not isinstance(value, float):
        raise ClassroomError(f"{where}: got {cell[:40]!r}; allowed is a number.")
    if not 0 <= value <= most:
        raise ClassroomError(f"{where}: got {value:g}; allowed is 0 to {most:g}.")
    return value


def graders_section(table: MarksTable, second: Mapping[str, float] | None) -> Section | None:
    """How well two graders of the written reason agree; None where nobody writes a reason."""
    if REASON not in table.maxima:
        return None
    title = "Agreement among graders of the written reason"
    waiting = {row.student for row in table.rows if REASON in row.by_hand}
    first = {
        row.student: points
        for row in table.rows
        if row.student not in waiting and (points := row.points.get(REASON)) is not None
    }
    if second is None:
        return Section(
            title,
            (
                "No second marks were given. Let a colleague mark the same reasons without seeing "
                "yours, write them as CSV with the columns student and points, and make the report "
                "again with --second-marks FILE.csv. Ten to twenty reasons are enough to begin.",
            ),
        )
    both = sorted(set(first) & set(second))
    if len(both) < FEWEST_REASONS:
        said = (
            f"{counted(len(both), 'reason')} with two marks: too few for figures, "
            f"{FEWEST_REASONS} are needed. Compare them one by one, and mark more."
        )
        return Section(title, (said,))
    one, other = np.array([[first[each], second[each]] for each in both]).T
    found, limits = kappa(one, other), limits_of_agreement(other - one)
    icc = intraclass_correlation(np.column_stack([one, other])).get("ICC(A,1)")
    rows = [
        ("same points", percent_text(float((one == other).mean())), ""),
        ("at most one point apart", percent_text(float((abs(one - other) <= 1).mean())), ""),
        ("weighted kappa (squares)", figure_text(found.value), range_text(found.low, found.high)),
        (
            "intraclass correlation ICC(A,1)",
            figure_text(icc.value if icc else None),
            range_text(icc.low, icc.high) if icc else "",
        ),
        (
            "second minus first, mean (points)",
            figure_text(limits.mean, sign=True),
            range_text(limits.mean_low, limits.mean_high),
        ),
    ]
    words = (
        f"{len(both)} reasons have two marks. Weighted kappa (Cohen 1968) is agreement beyond "
        "chance, 1 at most; a difference counts by its square. With weights of squares kappa and "
        "ICC come out close to each other. Where either is low, mark three reasons together and "
        "talk about the rubric before going on.",
    )
    heads = ("figure", "value", "95 % interval")
    return Section(title, words, (Sheet("Two graders", heads, tuple(rows)),))
