"""Who somebody is on the school's hub: the login decides, never what was typed.

A notebook on somebody's own computer asks for the student id. On the hub the login is known, so
the id is filled in, and what was handed in belongs to the user whose file it is: only the system
can say that, and it says it truly.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from lengthwise.classroom.csv_text import numbered_rows, read_text
from lengthwise.classroom.errors import ClassroomError

VARIABLE = "LENGTHWISE_LOGIN"
LOGINS = "logins.csv"
"""In the class folder, where logins are not the ids of the class list: columns login, student."""
MOST_BYTES = 1_000_000


@dataclass(frozen=True)
class Login:
    """A student of a class on the hub: the id on the class list, the class, its exchange."""

    student: str
    class_name: str
    exchange: str

    @property
    def place(self) -> Path:
        """The class's part of the exchange."""
        return Path(self.exchange) / self.class_name

    @property
    def hands_in(self) -> bool:
        """Whether work is handed in through the exchange; else by the way the class has."""
        return (self.place / "inbound").is_dir()

    def as_variable(self) -> dict[str, str]:
        """For the environment of the student's server."""
        return {VARIABLE: json.dumps(asdict(self))}


def this_login(environ: Mapping[str, str] = os.environ) -> Login | None:
    """The student whose server this is, or None away from a hub.

    >>> this_login(Login("student-01", "spring", "/srv/exchange").as_variable()).student
    'student-01'
    >>> this_login({}) is None
    True
    """
    return Login(**json.loads(environ[VARIABLE])) if environ.get(VARIABLE) else None


def students_by_login(folder: Path) -> dict[str, str]:
    """What ``logins.csv`` of a class folder says; empty where every login is the id itself.

    Raises `ClassroomError` for a file with other columns, an empty field or a login named twice.
    """
    path = folder / LOGINS
    if not path.is_file():
        return {}
    rows = numbered_rows(read_text(path, "list of logins", MOST_BYTES), path.name)
    heads = [cell.casefold() for cell in rows[0][1]] if rows else []
    found: dict[str, str] = {}
    for number, row in rows[1:]:
        at = dict(zip(heads, row, strict=False))
        login, student = at.get("login", ""), at.get("student", "")
        if not login or not student or login in found or student in found.values():
            raise ClassroomError(
                f"{path}, row {number}, fields login and student: got {login!r} and {student!r}; "
                "allowed is one row a student, both filled in, neither named twice; mend the row."
            )
        found[login] = student
    return found


def login_of(uid: int) -> str:
    """The log-in name of the system's user ``uid``; empty where there is no such user."""
    import pwd  # not on Windows, where there is no hub

    try:
        return pwd.getpwuid(uid).pw_name
    except KeyError:
        return ""
