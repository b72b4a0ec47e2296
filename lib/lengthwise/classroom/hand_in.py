"""Make the one file that a student hands in, and say in plain words what is missing in it.

The saved notebook is read, never run. The file is made even when answers are missing: handing in
something is for the student to decide. On a hub it is handed in at the same time.
"""

from __future__ import annotations

import json
import unicodedata
from pathlib import Path
from typing import Any, NamedTuple

from lengthwise.classroom.answers_so_far import NOT_ANSWERED, Answer
from lengthwise.classroom.class_folder import checked_name
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.hub_desk import hand_over
from lengthwise.classroom.hub_login import this_login
from lengthwise.classroom.student_work import TO_HAND_IN, Work, read_work
from lengthwise.classroom.zip_entries import MOST_BYTES
from lengthwise.whole_file import making

ID_CELL = "the cell under the heading Your student id"


class FileMade(NamedTuple):
    """What came of it: sentences, and the file relative to the course folder (None: not made)."""

    sentences: tuple[str, ...]
    file: Path | None = None


def make_file(assignment: str, course: Path = Path()) -> FileMade:
    """Check an assignment's saved notebook and write it as the file to hand in.

    Never raises: what keeps it from being made is said in a sentence for the student.
    """
    work = read_work(course, assignment)
    if work.notebook is None:
        return FileMade((_unreadable(work),))
    try:
        file = Path(TO_HAND_IN) / _file_name(work)
        data = _to_hand_in(work.path.read_bytes(), work.notebook)
        (course / TO_HAND_IN).mkdir(exist_ok=True)
        with making(course / file) as path:
            path.write_bytes(data)
    except ClassroomError as problem:
        return FileMade((str(problem),))
    except OSError as problem:
        reason = problem.strerror or str(problem)
        return FileMade((f"The file could not be written ({reason}). Free some space; try again.",))
    login = this_login()
    sent = (hand_over(assignment, course, login),) if login and login.hands_in else ()
    missing = (*_about_identity(work), *_about_answers(work.answers))
    doubts = tuple(f"{one.name}: {one.said}." for one in work.answers if one.complete and one.said)
    if missing:
        made = f"The file {file.name} is made, but look at this first:"
        after = (
            "Mend it in the notebook, save it (Ctrl+S, on a Mac Cmd+S), and press the button "
            "again. You may also hand the file in as it is."
        )
        return FileMade((*sent, made, *missing, *doubts, after, _where(course, file)), file)
    count = len(work.answers)
    made = f"The file {file.name} is made. All {count} answers are there and can be read."
    return FileMade((*sent, made, *doubts, _where(course, file)), file)


def _unreadable(work: Work) -> str:
    if not work.path.exists():
        return f"{work.assignment} is not here. Get the assignment first."
    return (
        f"The notebook of {work.assignment} cannot be read: it was cut off, or changed outside "
        "Jupyter. Open it and save it. If it does not open, get the assignment again; the file "
        "that is here is kept."
    )


def _file_name(work: Work) -> str:
    """The assignment and the id, where the id is one of the class."""
    if work.typed is None or work.mine is None:
        return f"{work.assignment}.ipynb"
    typed = unicodedata.normalize("NFC", work.typed)  # as the class list has it
    return f"{work.assignment}_{checked_name('student id', typed)}.ipynb"


def _to_hand_in(data: bytes, notebook: dict[str, Any]) -> bytes:
    """The notebook as it was saved; what its cells showed is left out where it is too much."""
    if len(data) <= MOST_BYTES:
        return data
    cells = [{**cell, "outputs": []} if "outputs" in cell else cell for cell in notebook["cells"]]
    slim = json.dumps({**notebook, "cells": cells}, indent=1).encode()
    if len(slim) > MOST_BYTES:
        raise ClassroomError(
            f"The notebook has {len(slim) / 1e6:.0f} MB, and {MOST_BYTES / 1e6:.0f} can be handed "
            "in. Delete what you pasted into it, save, and press the button again."
        )
    return slim


def _about_identity(work: Work) -> tuple[str, ...]:
    if work.typed is None:
        return (f"Your student id is missing: type it in {ID_CELL}.",)
    if work.class_name is None:
        return (
            "The cases beside the notebook are missing or damaged, so your id and your answers "
            "could not be checked. Get the assignment again; your answers stay.",
        )
    if work.mine is None:
        return (
            f"The id {work.typed[:40]!r} is not on the class list of {work.class_name}: type it in "
            f"{ID_CELL} exactly as your class uses it.",
        )
    return ()


def _about_answers(answers: tuple[Answer, ...]) -> tuple[str, ...]:
    """One sentence for everything without an answer, one for each that is not right in form."""
    if not answers:
        return (
            "No question was found in the notebook: its cells have lost their labels. Get the "
            "assignment again; the notebook that is here is kept.",
        )
    incomplete = [one for one in answers if not one.complete]
    empty = [one.name for one in incomplete if one.said == NOT_ANSWERED]
    told = [f"{one.name}: {one.said}." for one in incomplete if one.said != NOT_ANSWERED]
    if empty:
        share = (
            f"{len(empty)} of {len(answers)}" if len(empty) < len(answers) else f"all {len(empty)}"
        )
        told.insert(0, f"Not answered, {share}: {', '.join(empty)}.")
    return tuple(told)


def _where(course: Path, file: Path) -> str:
    return f"It lies at {(course / file).resolve()}, and the link saves a copy to your downloads."
