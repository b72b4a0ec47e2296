"""One run of grading on an assignment at a time, and one worker on a student's file.

A class whose marks are in a file locks another file beside it: both are on one computer's disk. A
class with a database on a server asks the server, which every host reaches and which frees a lock
when the one who held it is gone. Neither is left behind by a run that was killed.
"""

from __future__ import annotations

import getpass
import hashlib
import socket
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from typing import IO, TYPE_CHECKING, Any

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.gradebook import connected, is_on_a_server

if TYPE_CHECKING:
    from sqlalchemy import Connection

PATIENCE_S = 60
_HOLDER = """SELECT usename, application_name FROM pg_locks JOIN pg_stat_activity USING (pid)
WHERE locktype = 'advisory' AND granted AND ((classid::bigint << 32) | objid::bigint) = :key"""


@contextmanager
def only_one_run(taught: ClassFolder, assignment: str) -> Iterator[None]:
    """Nobody else grades this assignment inside the block; raises `ClassroomError` if one does."""
    held = _held_by_the_server if is_on_a_server(taught) else _held_in_the_folder
    with held(taught, assignment):
        yield


@contextmanager
def no_run_in_the_folder(taught: ClassFolder) -> Iterator[None]:
    """Nobody grades anything of a class with its marks in a file inside the block.

    Raises `ClassroomError` where somebody does.
    """
    with ExitStack() as held:
        for assignment in taught.assignments:
            held.enter_context(_held_in_the_folder(taught, assignment))
        yield


@contextmanager
def only_one_worker(taught: ClassFolder, assignment: str, student: str) -> Iterator[None]:
    """Nobody else works on this student's file inside the block; waits for whoever does.

    A host that was given up for lost may still be at work when another takes its student over.
    """
    from sqlalchemy.exc import OperationalError

    with connected(taught, f"lengthwise {assignment} {student}") as connection:
        _ask(connection, f"SELECT set_config('lock_timeout', '{PATIENCE_S}s', false)")
        try:
            _ask(connection, "SELECT pg_advisory_lock(:key)", key=_key(assignment, student))
        except OperationalError:
            raise ClassroomError(
                f"another worker has been at it for {PATIENCE_S} s; run this again when it is done"
            ) from None
        yield


@contextmanager
def _held_by_the_server(taught: ClassFolder, assignment: str) -> Iterator[None]:
    key = _key(assignment)
    with connected(taught, _who()) as connection:
        if _ask(connection, "SELECT pg_try_advisory_lock(:key)", key=key) != [True]:
            raise _refusal(assignment, " ".join(filter(None, _ask(connection, _HOLDER, key=key))))
        yield


@contextmanager
def _held_in_the_folder(taught: ClassFolder, assignment: str) -> Iterator[None]:
    path = taught.root / f".grading-{assignment}.lock"
    with path.open("a+", encoding="utf-8") as file:
        if not _taken(file):
            raise _refusal(assignment, path.read_text(encoding="utf-8"))
        file.truncate(0)
        file.write(_who())
        file.flush()
        yield


def _taken(file: IO[str]) -> bool:
    """Lock an open file until it is closed; tell whether that worked."""
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(1 << 30)  # far behind what is written, so that others can read that
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _refusal(assignment: str, holder: str) -> ClassroomError:
    return ClassroomError(
        f"{assignment} is being graded just now by {holder or 'somebody else'}; wait until that is "
        "done, or stop it there, and run this again."
    )


def _who() -> str:
    """Who holds a lock, short enough to be told to a server (60 letters).

    With day and zone: a run may be of yesterday, and hosts need not agree on what time it is.
    """
    when = datetime.now().astimezone().strftime("%Y-%m-%d %H:%M%z")
    return f"{getpass.getuser()[:13]} on {socket.gethostname()[:15]} since {when}"


def _key(*parts: str) -> int:
    """A number for the server's lock, which knows no names; of this database only."""
    digest = hashlib.sha256("\n".join(parts).encode()).digest()
    return int.from_bytes(digest[:8], "big", signed=True)


def _ask(connection: Connection, sql: str, **values: int) -> list[Any]:
    """The first row of what the server answers."""
    from sqlalchemy import text

    return list(connection.execute(text(sql), values).first() or ())
