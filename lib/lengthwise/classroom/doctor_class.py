"""Is a class well? Its folder, its gradebook, and the exchange of the hub where it has one."""

from __future__ import annotations

import os
import secrets
import stat
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.doctor import Check, Finding, found, looked_at
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.gradebook import (
    check_whose,
    gradebook_url,
    is_on_a_server,
    shown_address,
)
from lengthwise.classroom.grader import grader
from lengthwise.classroom.typed import quoted
from lengthwise.counted import counted

if TYPE_CHECKING:
    from sqlalchemy import Connection

FROM_A_COPY = "put it back from a copy of the class"
AS_WHO_GRADES = "run this as the user who grades, or ask whoever made the class to let you in"
NOT_NAMED = (
    "not looked at: LENGTHWISE_EXCHANGE names none here. A grader's terminal on a hub has it; "
    "without a hub files come by the learning platform"
)
HIDDEN = {"secret": 0o600, "answers": 0o700}
"""What holds solutions, and the most that its mode may allow in a class of one instructor."""
# On a hub: what others than the graders must not do in each folder of the exchange.
_FORBIDDEN = {"inbound": 0o004, "outbound": 0o002, "feedback": 0o006}
_NEEDED = {"inbound": 0o003, "outbound": 0o005, "feedback": 0o001}


def checks_of_class(taught: ClassFolder) -> tuple[Check, ...]:
    """Everything of a class, the cheapest first."""
    return (
        lambda: hidden(taught),
        lambda: writable(taught),
        lambda: released(taught),
        lambda: config(taught),
        lambda: database(taught),
        lambda: exchange(taught),
    )


def hidden(taught: ClassFolder) -> Finding:
    """What holds solutions is closed to other users of this computer."""
    tried = "Solutions closed to others"
    if os.name != "posix":
        return Finding(tried, "not looked at: Windows has no such modes")
    return looked_at(tried, lambda: _hidden(tried, taught), AS_WHO_GRADES)


def _hidden(tried: str, taught: ClassFolder) -> Finding:
    open_ones, names = [], " ".join(quoted(str(taught.root / name)) for name in HIDDEN)
    shared = taught.root.stat().st_mode & stat.S_IWGRP  # several graders, by their group
    for name in HIDDEN:
        path = taught.root / name
        if not path.exists():
            return Finding(tried, f"{path} is missing", FROM_A_COPY)
        mode = stat.S_IMODE(path.stat().st_mode)
        if mode & (0o007 if shared and name != "secret" else 0o077):
            open_ones.append(f"{name} has mode {mode:o}")
    return Finding(
        tried,
        ", ".join(open_ones) or f"{' and '.join(HIDDEN)} are closed",
        f"type: chmod {'o' if shared else 'go'}-rwx {names}" if open_ones else "",
    )


def writable(taught: ClassFolder) -> Finding:
    """Grading writes into the class's folders."""

    def write() -> str:
        folders = ("submitted", "autograded", "feedback", "records")
        for name in folders:
            with tempfile.TemporaryFile(dir=taught.root / name) as file:
                file.write(b"lengthwise")
        return f"written into {', '.join(folders)}, and taken away"

    mend = "make the missing folder, or give it to the user who grades"
    return found("Writing into the class", write, mend)


def released(taught: ClassFolder) -> Finding:
    """Every assignment has answers and a release."""
    tried = "Answers and releases"
    return looked_at(tried, lambda: _released(tried, taught), AS_WHO_GRADES)


def _released(tried: str, taught: ClassFolder) -> Finding:
    missing = [
        str(path.relative_to(taught.root))
        for name in taught.assignments
        for path in (taught.answers_path(name), taught.released_notebook(name))
        if not path.is_file()
    ]
    came = f"{', '.join(missing)} missing" if missing else ", ".join(taught.assignments)
    return Finding(tried, came, FROM_A_COPY if missing else "")


def config(taught: ClassFolder) -> Finding:
    """The class's own settings of nbgrader."""

    def load() -> str:
        steps = grader(taught).config.Autograde.autograde_preprocessors
        if "MarkStep" not in str(steps):
            raise ClassroomError("these settings do not read answers, they would run notebooks")
        return "readable; answers are read, nothing of a student's is run"

    mend = f"copy course/nbgrader_config.py to {taught.root}"
    return found("Settings of grading", load, mend)


def database(taught: ClassFolder) -> Finding:
    """The gradebook answers, has the tables of the installed nbgrader, can be written."""
    if is_on_a_server(taught):
        mend = "see that the server runs, and that user, password and database are right"
    else:
        mend = f"put {taught.root / 'gradebook.db'} back from a copy of the class"
    return found("Gradebook", lambda: _database(taught), mend)


def _database(taught: ClassFolder) -> str:
    from sqlalchemy import create_engine

    if is_on_a_server(taught):
        check_whose(taught)
    elif not (taught.root / "gradebook.db").is_file():
        raise ClassroomError("gradebook.db is missing")
    url = gradebook_url(taught)
    engine = create_engine(url)
    try:
        with engine.connect() as connection:
            students = _try_out(connection)
    finally:
        engine.dispose()
    where = shown_address(url) if is_on_a_server(taught) else "gradebook.db"
    return f"{where}: {counted(students, 'student')}; written, and taken back"


def _try_out(connection: Connection) -> int:
    from nbgrader.api import Base, Student
    from sqlalchemy import func, insert, inspect, select, text

    missing = Base.metadata.tables.keys() - set(inspect(connection).get_table_names())
    if missing:
        raise ClassroomError(f"it lacks {', '.join(sorted(missing))}")
    here = connection.scalar(text("SELECT version_num FROM alembic_version"))
    if here != (wanted := _newest_version()):
        raise ClassroomError(f"its tables are of version {here}, and nbgrader here has {wanted}")
    count = select(func.count()).select_from(Student.__table__)
    before = connection.scalar(count)
    connection.execute(insert(Student.__table__).values(id=f"doctor-{secrets.token_hex(8)}"))
    connection.rollback()
    if connection.scalar(count) != before:
        raise ClassroomError("what was written could not be taken back")
    return int(before or 0)


def _newest_version() -> str | None:
    """The version of the tables that the installed nbgrader makes."""
    import nbgrader
    from alembic.script import ScriptDirectory

    return ScriptDirectory(str(Path(nbgrader.__file__).parent / "alembic")).get_current_head()


def exchange(taught: ClassFolder) -> Finding:
    """On a hub: students may put work in and fetch, and may not look at one another's."""
    tried = "Exchange"
    root = os.environ.get("LENGTHWISE_EXCHANGE")
    if not root:
        return Finding(tried, NOT_NAMED)
    part = Path(root) / taught.name
    return looked_at(tried, lambda: _exchange(tried, part), AS_WHO_GRADES)


def _exchange(tried: str, part: Path) -> Finding:
    wrong = []
    for name, forbidden in _FORBIDDEN.items():
        path = part / name
        if not path.is_dir():
            wrong.append(f"{path} is missing")
            continue
        mode = stat.S_IMODE(path.stat().st_mode)
        if mode & forbidden or mode & _NEEDED[name] != _NEEDED[name]:
            wrong.append(f"{path} has mode {mode:o}")
    mend = "start the hub again as root: it makes what is missing, and names the mode that is right"
    return Finding(tried, "; ".join(wrong) or f"{part} is as it should be", mend if wrong else "")
