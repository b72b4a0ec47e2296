"""What students handed in on a hub, in the layout of nbgrader's exchange: the newest of each.

A submission belongs to the user of the system whose file it is, whatever its name says: nobody can
hand in for somebody else. Nothing but one regular notebook is read.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.collect import Collection, Left, collect, collect_found, stamp_text
from lengthwise.classroom.grading_config import EXCHANGE
from lengthwise.classroom.handed_in import Found, cannot_be_opened, printable, read_regular
from lengthwise.classroom.hub_login import LOGINS, login_of, students_by_login
from lengthwise.classroom.roster import Student
from lengthwise.marking.student_id import folded_id
from lengthwise.whole_file import making

SECRET = "submission_secret.txt"
"""By it a student finds their page of feedback, and nobody else does: nbgrader's way."""
INBOUND = "inbound"
_SECRET_FORM = re.compile(rb"[0-9a-f]{128}")


@dataclass(frozen=True)
class HandedIn:
    """One submission: whose, the notebook with its time, the student's secret for feedback."""

    student: str
    found: Found
    secret: bytes


def handed_in_by(
    inbound: Path, assignment: str, taught: ClassFolder
) -> tuple[list[HandedIn], list[Left]]:
    """The newest submission of every student, and what was left, with the reason.

    The time is that of the last change as the system keeps it: nobody can set it back.
    """
    logins = students_by_login(taught.root)
    newest: dict[str, HandedIn] = {}
    left = []
    for folder in sorted(inbound.glob(f"*+{assignment}+*")):
        try:
            one = _submission(folder, assignment, logins)
        except OSError as error:  # everybody may put folders here: one of them stops nothing
            one = Left(folder.name, cannot_be_opened(error))
        if isinstance(one, Left):
            left.append(Left(printable(one.where), printable(one.reason)))
        elif one and (
            one.student not in newest or newest[one.student].found.stamp <= one.found.stamp
        ):
            newest[one.student] = one
    return list(newest.values()), left


def _submission(folder: Path, assignment: str, logins: Mapping[str, str]) -> HandedIn | Left | None:
    """What is in one folder; None where it is no submission. Raises OSError where it is shut."""
    path = folder / f"{assignment}.ipynb"
    if folder.is_symlink() or not folder.is_dir() or not path.is_file():
        return None
    status = path.lstat()
    login = login_of(status.st_uid)
    student = logins.get(login) if logins else login
    claimed = student_named(folder.name, logins)
    if not login:
        return Left(folder.name, f"the file belongs to no user of this system ({status.st_uid})")
    if student is None:
        return Left(
            folder.name,
            f"the file belongs to the login {login}, which is not in {LOGINS}; add a row for it, "
            "if it is a student of the class, and collect again",
        )
    if student != claimed or folder.stat().st_uid != status.st_uid:
        return Left(folder.name, f"it is called {claimed}'s, and the file belongs to {student}")
    found = read_regular(path, f"{student}/{path.name}")
    at, kept = datetime.fromtimestamp(status.st_ctime, UTC), folder / SECRET
    secret = read_regular(kept, SECRET).data if os.path.lexists(kept) else b""
    return HandedIn(student, replace(found, stamp=stamp_text(at)), secret)


def in_exchange(taught: ClassFolder, assignment: str) -> tuple[frozenset[str], list[Left]]:
    """Whose work lies in the exchange of the hub, collected or not, and what may be anybody's.

    Folded ids: see `folded_id`. Strangers to the class may be among them. Nothing where there is
    no exchange.
    """
    exchange = os.environ.get(EXCHANGE)
    if not exchange:
        return frozenset(), []
    handed_in, left = handed_in_by(Path(exchange) / taught.name / INBOUND, assignment, taught)
    return frozenset(folded_id(one.student) for one in handed_in), left


def student_named(name: str, logins: Mapping[str, str]) -> str:
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
    roster = tuple(students)
    ids = {folded_id(one.id): one.id for one in roster}
    handed_in, left = handed_in_by(inbound, assignment, taught)
    # Without this, the id that a stranger types in it would say whose it is.
    strange = [one for one in handed_in if folded_id(one.student) not in ids]
    left += [Left(one.found.where, f"{one.student} is not on the class list") for one in strange]
    mine = {ids[folded_id(one.student)]: one for one in handed_in if one not in strange}
    done = collect_found((one.found for one in mine.values()), taught, assignment, roster)
    for student, one in mine.items():
        folder = taught.submission_folder(student, assignment)
        if folder.is_dir() and _SECRET_FORM.fullmatch(one.secret):
            with making(folder / SECRET) as draft:
                draft.write_bytes(one.secret)
    return replace(done, left=(*left, *done.left))


def collect_place(
    place: Path, into: ClassFolder, assignment: str, students: Iterable[Student]
) -> Collection:
    """Collect from the folder of an exchange, or from any other folder or zip."""
    if place.name == INBOUND and (place.parent / "outbound").is_dir():
        return collect_inbound(place, into, assignment, students)
    return collect(place, into, assignment, students)
