"""Bring handed-in files into a class: one regular notebook a student.

A file is admitted when its owner is clear. A folder or file name that holds a student's id, and
the id typed in the notebook, must not contradict each other; two different files of one student
are a conflict, and neither takes the other's place.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.handed_in import Found, named_id, notebooks_in, parsed_notebook, typed_id
from lengthwise.classroom.repair import holds_answer, source_of

TIMESTAMP = "timestamp.txt"


@dataclass(frozen=True)
class Taken:
    """A file that is now in the class: whose, from where, and how (new, replaced, unchanged)."""

    student: str
    where: str
    how: str
    remark: str = ""


@dataclass(frozen=True)
class Left:
    """A file that was not taken, and why."""

    where: str
    reason: str


@dataclass(frozen=True)
class Collection:
    """What collecting did, and who has handed in nothing yet."""

    taken: tuple[Taken, ...]
    left: tuple[Left, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True)
class _Claim:
    student: str
    found: Found
    remark: str


def collect(place: Path, into: ClassFolder, assignment: str, students: Iterable[str]) -> Collection:
    """Take every clear file in ``place`` into the class; running it again changes nothing.

    A file of another assignment of the class is left, and said so.
    """
    ids = tuple(students)
    releases = {one: _texts_of_release(into, one) for one in into.assignments}
    claims: dict[str, list[_Claim]] = {}
    left = []
    for found in notebooks_in(place):
        claim = _claim(found, assignment, ids, releases)
        if isinstance(claim, Left):
            left.append(claim)
        else:
            claims.setdefault(claim.student, []).append(claim)
    taken = []
    for student, rivals in sorted(claims.items()):
        if len({claim.found.data for claim in rivals}) > 1:
            left += [_conflict(claim, rivals) for claim in rivals]
            continue
        found = rivals[0].found
        how = _put(found.data, into.submission_folder(student, assignment), assignment)
        taken.append(Taken(student, found.where, how, rivals[0].remark))
    there = set(into.submitted_students(assignment))
    return Collection(tuple(taken), tuple(left), tuple(i for i in ids if i not in there))


def _texts_of_release(into: ClassFolder, assignment: str) -> set[str]:
    """The texts that every copy of an assignment holds, whatever a student typed."""
    path = into.released_notebook(assignment)
    if not path.is_file():
        return set()
    cells = parsed_notebook(path.read_bytes())["cells"]
    return {source_of(cell) for cell in cells if not holds_answer(cell)}


def _looks_like(notebook: dict[str, Any], releases: dict[str, set[str]]) -> str | None:
    """The assignment whose texts a file holds most of; None when it holds none of any."""
    texts = {source_of(cell) for cell in notebook["cells"]}
    alike = {one: len(texts & release) for one, release in releases.items()}
    best = max(alike, key=lambda one: alike[one])
    return best if alike[best] else None


def _claim(
    found: Found, assignment: str, students: tuple[str, ...], releases: dict[str, set[str]]
) -> _Claim | Left:
    if found.refused:
        return Left(found.where, found.refused)
    try:
        notebook = parsed_notebook(found.data)
    except ValueError as reason:
        return Left(found.where, str(reason))
    alike = _looks_like(notebook, releases)
    if alike not in (assignment, None):
        return Left(found.where, f"it is {alike}, not {assignment}")
    owner = _owner(found.where, typed_id(notebook), students)
    if owner.student is None:
        return Left(found.where, owner.remark)
    return _Claim(owner.student, found, owner.remark)


@dataclass(frozen=True)
class _Owner:
    """Whose file it is, and what is to be said of it; or None, and why that is unclear."""

    student: str | None
    remark: str = ""


def _owner(where: str, typed: str | None, students: tuple[str, ...]) -> _Owner:
    named = named_id(where, students)
    listed = {student.casefold(): student for student in students}
    known = listed.get(typed.casefold()) if typed is not None else None
    if named is not None and known is not None and named != known:
        return _Owner(None, f"its name says {named}, but the id typed in it is {known}")
    if known is not None:
        return _Owner(known, "" if named else "taken by the id typed in it")
    if typed is None:
        nobody = "neither its name nor the notebook says whose it is"
        return _Owner(named, "no id typed in it; taken by its name" if named else nobody)
    return _Owner(named, f"the id typed in it ({typed[:40]}) is not on the class list")


def _conflict(claim: _Claim, claims: list[_Claim]) -> Left:
    others = [other.found.where for other in claims if other is not claim]
    return Left(
        claim.found.where,
        f"{claim.student} handed in more than one file (also {', '.join(others)}); "
        "keep the right one in the folder and collect again",
    )


def _put(data: bytes, folder: Path, assignment: str) -> str:
    """Write a submission all at once; an unchanged one keeps its time stamp."""
    target = folder / f"{assignment}.ipynb"
    if target.is_file() and target.read_bytes() == data:
        return "unchanged"
    how = "replaced" if target.exists() else "new"
    folder.mkdir(parents=True, exist_ok=True)
    now = datetime.now(UTC).strftime("%Y-%m-%d %H:%M:%S.%f UTC")
    _write_at_once(target, data)
    _write_at_once(folder / TIMESTAMP, now.encode("ascii"))
    return how


def _write_at_once(target: Path, data: bytes) -> None:
    """Other processes see the old file or the new one, never half of it."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".collecting-")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(name, 0o644)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
