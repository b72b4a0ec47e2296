"""What students handed in on a hub, in the layout of nbgrader's exchange: the newest of each.

A submission belongs to the user of the system whose file it is, whatever its name says: nobody can
hand in for somebody else. Nothing but one regular notebook is read.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.collect import TIMESTAMP, Collection, Left, collect, collect_found
from lengthwise.classroom.handed_in import Found, read_regular
from lengthwise.classroom.hub_login import student_of, students_by_login
from lengthwise.classroom.roster import Student
from lengthwise.whole_file import making

SECRET = "submission_secret.txt"
"""By it a student finds their page of feedback, and nobody else does: nbgrader's way."""
INBOUND = "inbound"
_SECRET_FORM = re.compile(rb"[0-9a-f]{128}")


@dataclass(frozen=True)
class HandedIn:
    """One submission: whose, when (seconds), the notebook, the student's secret for feedback."""

    student: str
    at_s: float
    found: Found
    secret: bytes


def handed_in_by(
    inbound: Path, assignment: str, taught: ClassFolder
) -> tuple[list[HandedIn], list[Left]]:
    """The newest submission of every student, and what was left because it claims to be another's.

    The time is that of the last change as the system keeps it: nobody can set it back.
    """
    logins = students_by_login(taught.root)
    newest: dict[str, HandedIn] = {}
    left = []
    for folder in sorted(inbound.glob(f"*+{assignment}+*")):
        path = folder / f"{assignment}.ipynb"
        if folder.is_symlink() or not folder.is_dir() or not path.is_file():
            continue
        status = path.lstat()
        student = student_of(status.st_uid, logins)
        claimed = student_named(folder.name, logins)
        if student is None or student != claimed or folder.stat().st_uid != status.st_uid:
            left.append(
                Left(folder.name, f"it is called {claimed}'s, and the file belongs to {student}")
            )
            continue
        found = read_regular(path, f"{student}/{path.name}")
        kept = folder / SECRET
        secret = read_regular(kept, SECRET).data if os.path.lexists(kept) else b""
        one = HandedIn(student, status.st_ctime, found, secret)
        if student not in newest or newest[student].at_s < one.at_s:
            newest[student] = one
    return list(newest.values()), left


def student_named(name: str, logins: dict[str, str]) -> str:
    """Whom the name of a submission speaks of.

    >>> student_named("s1+a6_reconcile+2026-03-07 09:00:00.0 UTC+x", {})
    's1'
    """
    login = name.split("+")[0]
    return logins.get(login, login)


def collect_inbound(
    inbound: Path, taught: ClassFolder, assignment: str, students: Iterable[Student]
) -> Collection:
    """Take what students handed in through the exchange into the class."""
    handed_in, left = handed_in_by(inbound, assignment, taught)
    done = collect_found((one.found for one in handed_in), taught, assignment, students)
    new = {one.student for one in done.taken if one.how != "unchanged"}
    for one in handed_in:
        folder = taught.submission_folder(one.student, assignment)
        if one.student in new:
            at = datetime.fromtimestamp(one.at_s, UTC).strftime("%Y-%m-%d %H:%M:%S.%f UTC")
            _write(folder / TIMESTAMP, at.encode("ascii"))
        if folder.is_dir() and _SECRET_FORM.fullmatch(one.secret):
            _write(folder / SECRET, one.secret)
    return replace(done, left=(*left, *done.left))


def _write(target: Path, data: bytes) -> None:
    with making(target) as draft:
        draft.write_bytes(data)


def collect_place(
    place: Path, into: ClassFolder, assignment: str, students: Iterable[Student]
) -> Collection:
    """Collect from the folder of an exchange, or from any other folder or zip."""
    if place.name == INBOUND and (place.parent / "outbound").is_dir():
        return collect_inbound(place, into, assignment, students)
    return collect(place, into, assignment, students)
