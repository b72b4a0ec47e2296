"""Take an assignment into the student's course folder, and never lose what was typed.

A first one becomes a folder of its own. One that is there already keeps the student's answers:
only the cases are renewed, or the answers are laid into the new text and the old notebook stays
beside it. Where the cases are others than before, the whole old folder is set aside. Whatever is
interrupted leaves the old files or the new ones.
"""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from lengthwise.classroom.answers_so_far import IDENTITY, answer_cells, is_touched
from lengthwise.classroom.cells import holds_answer, label, source_of
from lengthwise.classroom.course_zip import WAITING, waiting_in
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.hub_desk import new_releases, remember
from lengthwise.classroom.hub_login import Login, this_login
from lengthwise.classroom.release import CASES
from lengthwise.classroom.release_zip import Release, read_release
from lengthwise.classroom.repair import repair
from lengthwise.classroom.student_work import Work, cases_of, read_work
from lengthwise.marking.casebook import case_key
from lengthwise.whole_file import making

_NONE_IN_COURSE = (
    "is the whole course, and no assignment is in it. Choose the zip file of the assignment that "
    "your instructor handed out, such as a6_reconcile.zip."
)
_OPEN_AGAIN = (
    "If it is still open somewhere, close it without saving; open it again and run its cells from "
    "the top."
)


class TakenIn(NamedTuple):
    """What came of choosing a file: a sentence; the assignment that is there, None if refused."""

    sentence: str
    assignment: str | None = None


def take_in(data: bytes, name: str, course: Path = Path(), now: datetime | None = None) -> TakenIn:
    """Put the release in a zip called ``name`` where the student works on it.

    Of a zip of the whole course every assignment that waits in it; the first is the one to open.
    Never raises: what cannot be taken in is said in a sentence for the student.
    """
    waiting = waiting_in(data)
    if waiting is None:
        return _take_in_one(data, name, course, now)
    if not waiting:
        return TakenIn(f"{name} {_NONE_IN_COURSE}")
    taken = [_take_in_one(inner, f"{one} in {name}", course, now) for one, inner in waiting]
    first = next((one.assignment for one in taken if one.assignment is not None), None)
    return TakenIn("\n".join(one.sentence for one in taken), first)


def _take_in_one(data: bytes, name: str, course: Path, now: datetime | None) -> TakenIn:
    try:
        release = with_id_of(this_login(), read_release(data, name))
        return TakenIn(_put(release, course, now or datetime.now()), release.assignment)
    except ClassroomError as problem:
        return TakenIn(str(problem))
    except OSError as problem:
        reason = problem.strerror or str(problem)
        return TakenIn(
            f"The assignment could not be written into the course folder ({reason}). Free some "
            "space, close other programs that use the folder, and choose the file again. What was "
            "there before is unharmed."
        )


def take_in_waiting(course: Path = Path(), now: datetime | None = None) -> tuple[TakenIn, ...]:
    """Take in what came with the course itself, each zip once: it goes when it was taken in.

    On a hub, also what the class has handed out since the last time. A zip that waits longer, since
    it cannot be used or its folder cannot be changed, does no harm.
    """
    taken = []
    for path in sorted((course / WAITING).glob("*.zip")):
        try:
            one = take_in(path.read_bytes(), path.name, course, now)
            if one.assignment is not None:
                path.unlink()
        except OSError as problem:
            one = TakenIn(f"{path.name} could not be read or put away ({problem.strerror}).")
        taken.append(one)
    for name, data, digest in new_releases(course, this_login()):
        one = take_in(data, f"{name}.zip", course, now)
        if one.assignment is not None:
            remember(course, name, digest)
        taken.append(one)
    return tuple(taken)


def with_id_of(login: Login | None, release: Release) -> Release:
    """On a hub the login is known: the id is filled in, and others' cases are left behind.

    Elsewhere the release as it is.
    """
    if login is None:
        return release
    notebook = json.loads(release.notebook_bytes)
    for cell in notebook["cells"]:
        if label(cell) == IDENTITY:
            cell["source"] = f'student_id = "{login.student}"  # your login: leave it as it is'
    mine = case_key(release.class_name, release.assignment, login.student)
    students = {key: one for key, one in release.cases["students"].items() if key == mine}
    cases = {**release.cases, "students": students}
    return replace(
        release,
        notebook=notebook,
        notebook_bytes=json.dumps(notebook, indent=1).encode(),
        cases=cases,
        cases_bytes=json.dumps(cases).encode(),
    )


def _put(release: Release, course: Path, now: datetime) -> str:
    folder = course / release.assignment
    if not folder.exists():
        _new_folder(_files(release), folder)
        return f"{release.assignment} is here now, for class {release.class_name}."
    work = read_work(course, release.assignment)
    if not work.path.exists():
        _write(release, folder, release.notebook_bytes)
        return f"{release.assignment} was not complete here; now it is."
    if work.notebook is None:
        beside = _set_notebook_aside(work.path, now)
        _write(release, folder, release.notebook_bytes)
        return (
            f"The notebook of {release.assignment} could not be read. A fresh one is here now; "
            f"the old one is kept as {beside}."
        )
    if not _typed_in(work.notebook, release):
        return _replace_untouched(release, work)
    if _cases_differ(release, work):
        aside = _set_folder_aside(work, now)
        _write(release, folder, release.notebook_bytes)
        return (
            f"{release.assignment} is here now, with other cases than before. Your earlier answers "
            f"belong to the earlier cases; they are kept in the folder {aside}. {_OPEN_AGAIN}"
        )
    return _renew(release, work, now)


def _typed_in(notebook: dict[str, Any], release: Release) -> bool:
    """Whether anything was typed into a notebook that does not stand in the release already."""
    given = {name: source_of(cell) for name, cell in answer_cells(release.notebook).items()}
    cells = answer_cells(notebook)
    return any(is_touched(cells[name]) and source_of(cells[name]) != given.get(name)
               for name in cells)  # fmt: skip


def _replace_untouched(release: Release, work: Work) -> str:
    if work.path.read_bytes() == release.notebook_bytes and not _renew_cases(release, work):
        return f"{release.assignment} was here already; nothing is typed in it yet."
    _write(release, work.path.parent, release.notebook_bytes)
    return (
        f"{release.assignment} is here now, for class {release.class_name}. It takes the place of "
        "an earlier copy in which nothing was typed."
    )


def _cases_differ(release: Release, work: Work) -> bool:
    """Whether what was answered belongs to other cases than those of the release.

    Without the earlier cases, or with an id that had none, there is nothing to compare.
    """
    if work.class_name is not None and work.class_name != release.class_name:
        return True
    return work.mine is not None and cases_of(release.cases, work.typed) != work.mine


def _renew(release: Release, work: Work, now: datetime) -> str:
    assert work.notebook is not None  # looked at before
    if _same_text(release.notebook, work.notebook):
        renewed = _renew_cases(release, work)
        how = "its cases were renewed" if renewed else "nothing was changed"
        return f"{release.assignment} was here already: your answers are kept, and {how}."
    laid_in = {**release.notebook, "cells": repair(work.notebook, release.notebook).cells}
    beside = _set_notebook_aside(work.path, now)
    _write(release, work.path.parent, json.dumps(laid_in, indent=1).encode())
    return (
        f"{release.assignment} has a fresh text now, and your answers stand in it. Your notebook "
        f"from before is kept as {beside}. {_OPEN_AGAIN}"
    )


def _same_text(released: dict[str, Any], mine: dict[str, Any]) -> bool:
    """Whether a student's notebook has the texts of the release, and each answer cell once."""
    return [_as_released(cell) for cell in released["cells"]] == [
        _as_released(cell) for cell in mine["cells"] if label(cell)
    ]


def _as_released(cell: dict[str, Any]) -> tuple[str, str]:
    """A cell's label and text, whatever a student typed into it."""
    return label(cell), "" if label(cell) and holds_answer(cell) else source_of(cell)


def _renew_cases(release: Release, work: Work) -> bool:
    path = work.path.with_name(CASES)
    if path.is_file() and path.read_bytes() == release.cases_bytes:
        return False
    _write_bytes(path, release.cases_bytes)
    return True


def _files(release: Release) -> dict[str, bytes]:
    return {f"{release.assignment}.ipynb": release.notebook_bytes, CASES: release.cases_bytes}


def _write(release: Release, folder: Path, notebook: bytes) -> None:
    _write_bytes(folder / f"{release.assignment}.ipynb", notebook)
    _write_bytes(folder / CASES, release.cases_bytes)


def _write_bytes(target: Path, data: bytes) -> None:
    with making(target) as path:
        path.write_bytes(data)


def _new_folder(files: Mapping[str, bytes], folder: Path) -> None:
    """The folder appears when all files are in it."""
    draft = Path(tempfile.mkdtemp(dir=folder.parent, prefix=".taking-in-"))
    try:
        for name, data in files.items():
            _write_bytes(draft / name, data)
        draft.chmod(0o755)
        os.replace(draft, folder)
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise


def _set_notebook_aside(path: Path, now: datetime) -> str:
    """Keep a copy of the notebook under a name that says what it is."""
    beside = _free_name(path, now)
    _write_bytes(beside, path.read_bytes())
    return beside.name


def _set_folder_aside(work: Work, now: datetime) -> str:
    """Keep a copy of notebook and cases in a folder beside.

    The folder itself stays: a notebook that is still open runs in it, wherever it is moved to.
    """
    folder = work.path.parent
    aside = _free_name(folder, now)
    kept = [path for path in (work.path, work.path.with_name(CASES)) if path.is_file()]
    _new_folder({path.name: path.read_bytes() for path in kept}, aside)
    return aside.name


def _free_name(path: Path, now: datetime) -> Path:
    stem = f"{path.stem}_old_{now:%Y-%m-%d_%H%M}"
    names = [stem, *(f"{stem}_{number}" for number in range(2, 100))]
    for name in names:
        beside = path.with_name(name + path.suffix)
        if not beside.exists():
            return beside
    raise ClassroomError(f"There are a hundred old copies of {path.name}; delete some first.")
