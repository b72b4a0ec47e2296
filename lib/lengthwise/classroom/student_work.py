"""The assignments in a student's course folder, and how far each of them has come.

course/
    a6_reconcile/            an assignment as it was taken in
        a6_reconcile.ipynb   the student's notebook
        cases.json           the cases of the class
    to_hand_in/              files that were made to be handed in
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from lengthwise.classroom.answers_so_far import IDENTITY, Answer, answer_cells, answers_so_far
from lengthwise.classroom.cells import source_of
from lengthwise.classroom.notebook_file import parsed_notebook
from lengthwise.classroom.plain_text import id_in
from lengthwise.classroom.release import CASES
from lengthwise.classroom.release_zip import ASSIGNMENT_NAME
from lengthwise.marking.casebook import case_key

TO_HAND_IN = "to_hand_in"


@dataclass(frozen=True)
class Work:
    """One assignment: the notebook as it was saved, and what the cases beside it hold for it.

    Attributes
    ----------
    assignment, path : its name, and where its notebook is.
    notebook : None where it cannot be read.
    class_name : None where ``cases.json`` cannot be read.
    typed : the student id typed in the notebook, or None.
    mine : what the class gave to that id; None when it is missing or not on the class list.
    """

    assignment: str
    path: Path
    notebook: dict[str, Any] | None
    class_name: str | None
    typed: str | None
    mine: Mapping[str, Any] | None

    @property
    def answers(self) -> tuple[Answer, ...]:
        """Every question, and whether it is answered."""
        return answers_so_far(self.notebook, self.mine) if self.notebook else ()


class Shown(NamedTuple):
    """One line of the list on the start page."""

    assignment: str
    sentence: str


def cases_of(cases: Mapping[str, Any], student: str | None) -> dict[str, Any] | None:
    """What ``cases.json`` holds for a student id; None when it is not on the class list."""
    if student is None:
        return None
    found = cases["students"].get(case_key(cases["class"], cases["assignment"], student))
    return dict(found) if isinstance(found, dict) else None


def read_work(course: Path, assignment: str) -> Work:
    """An assignment as it lies in the course folder. Never raises for a damaged file."""
    path = course / assignment / f"{assignment}.ipynb"
    try:
        notebook = parsed_notebook(path.read_bytes())
    except (OSError, ValueError):
        notebook = None
    typed = id_typed_in(notebook) if notebook else None
    class_name, mine = _given(path.with_name(CASES), assignment, typed)
    return Work(assignment, path, notebook, class_name, typed, mine)


def id_typed_in(notebook: Mapping[str, Any]) -> str | None:
    """The student id in the cell that asks for it, or None. Read, never run."""
    cell = answer_cells(notebook).get(IDENTITY)
    return id_in(source_of(cell)) if cell else None


def _given(
    path: Path, assignment: str, student: str | None
) -> tuple[str | None, Mapping[str, Any] | None]:
    """The class of a ``cases.json``, and what it gives to a student."""
    try:
        return _given_at(path, path.stat().st_mtime_ns, assignment, student)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None, None


@lru_cache(maxsize=32)
def _given_at(
    path: Path, changed_ns: int, assignment: str, student: str | None
) -> tuple[str, Mapping[str, Any] | None]:
    """Remembered until the file changes: with a large class it has tens of megabytes.

    All who ask share what is remembered: it is only to be read.
    """
    cases = json.loads(path.read_bytes())
    if cases["assignment"] != assignment:
        raise ValueError(f"these are the cases of {cases['assignment']}")
    return str(cases["class"]), cases_of(cases, student)


def assignments_here(course: Path) -> tuple[str, ...]:
    """The assignments in a course folder, in order of their names."""
    return tuple(
        sorted(
            path.stem
            for path in course.glob("a*/a*.ipynb")
            if path.stem == path.parent.name and ASSIGNMENT_NAME.fullmatch(path.stem)
        )
    )


def work_here(course: Path = Path(), now: datetime | None = None) -> tuple[Shown, ...]:
    """What the start page lists: every assignment with how far it has come, in one sentence."""
    at = now or datetime.now()
    return tuple(
        Shown(name, _in_words(read_work(course, name), course, at))
        for name in assignments_here(course)
    )


def _in_words(work: Work, course: Path, now: datetime) -> str:
    if work.notebook is None:
        return "Its notebook cannot be read. Get the assignment again; the file here is kept."
    saved = work.path.stat().st_mtime
    complete = sum(answer.complete for answer in work.answers)
    if not complete and work.typed is None:
        return "It is here; nothing is typed yet."
    doubtful = [answer.name for answer in work.answers if answer.complete and answer.said]
    again = f" (look once more at {', '.join(doubtful)})" if doubtful else ""
    share = f"{complete} of {len(work.answers)}"
    said = f"{share} answers are complete{again}, saved {_when(saved, now)}."
    made = _last_made(course, work.assignment)
    if made is None:
        return f"{said} No file to hand in was made yet."
    if made.stat().st_mtime < saved:
        return f"{said} The file to hand in is older ({_when(made.stat().st_mtime, now)})."
    return f"{said} The file to hand in was made {_when(made.stat().st_mtime, now)}."


def _last_made(course: Path, assignment: str) -> Path | None:
    made = (course / TO_HAND_IN).glob(f"{assignment}*.ipynb")
    return max(made, key=lambda path: path.stat().st_mtime, default=None)


def _when(seconds: float, now: datetime) -> str:
    """A time as people say it.

    >>> _when(datetime(2026, 3, 7, 21, 40).timestamp(), datetime(2026, 3, 7, 22, 0))
    'today at 21:40'
    >>> _when(datetime(2026, 3, 5, 9, 5).timestamp(), datetime(2026, 3, 7, 22, 0))
    'on 5 March at 09:05'
    """
    at = datetime.fromtimestamp(seconds)
    day = "today" if at.date() == now.date() else f"on {at.day} {_MONTHS[at.month - 1]}"
    return f"{day} at {at:%H:%M}"


_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
