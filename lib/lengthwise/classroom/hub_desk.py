"""The student's side of nbgrader's exchange on a hub: assignments come, work goes, feedback comes.

Away from a hub nothing here does anything. Submitting and fetching are nbgrader's own; what is
handed in can be read by its owner and the graders, and by nobody else.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import logging
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from lengthwise.classroom.hub_login import Login, this_login
from lengthwise.classroom.release import CASES
from lengthwise.classroom.release_zip import ASSIGNMENT_NAME
from lengthwise.whole_file import making

STAMP = ".handed_out"
NOT_SENT = (
    ".ipynb_checkpoints", "__pycache__", "*.pyc", "feedback", CASES, "*_old_*", ".*",
)  # fmt: skip


def new_releases(course: Path, login: Login | None) -> Iterator[tuple[str, bytes, str]]:
    """What is handed out and not here yet: the assignment, it as a zip, and its digest."""
    if login is None:
        return
    outbound = login.place / "outbound"
    for folder in sorted(outbound.glob("a*")):
        if not ASSIGNMENT_NAME.fullmatch(folder.name):
            continue
        files = {name: folder / name for name in (f"{folder.name}.ipynb", CASES)}
        try:
            inside = {name: path.read_bytes() for name, path in files.items()}
        except OSError:
            continue  # it is being handed out just now: the next look finds it
        digest = hashlib.sha256(b"".join(inside.values())).hexdigest()
        stamp = course / folder.name / STAMP
        if stamp.is_file() and stamp.read_text(encoding="ascii") == digest:
            continue
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w") as archive:
            for name, data in inside.items():
                archive.writestr(f"{folder.name}/{name}", data)
        yield folder.name, packed.getvalue(), digest


def remember(course: Path, assignment: str, digest: str) -> None:
    """Note that a release was taken in, so that it is not taken in again."""
    with making(course / assignment / STAMP) as draft:
        draft.write_text(digest, encoding="ascii")


def hand_over(assignment: str, course: Path, login: Login, now: datetime | None = None) -> str:
    """Hand the saved notebook in to the class; says that it went, or why not."""
    from nbgrader.exchange import ExchangeError
    from nbgrader.exchange.default import ExchangeSubmit

    step = _step(ExchangeSubmit, assignment, course, login)
    try:
        step.start()
    except (ExchangeError, OSError, RuntimeError) as problem:
        return (
            f"It could not be handed in to class {login.class_name} ({problem}). Press the button "
            "again; if it fails again, show this sentence to your instructor."
        )
    _keep_from_others(Path(step.inbound_path) / step.assignment_filename)
    at = now or datetime.now()
    return (
        f"{assignment} is handed in to class {login.class_name} as {login.student}, at {at:%H:%M}. "
        "You may change it and hand it in again: the last one counts."
    )


def _keep_from_others(folder: Path) -> None:
    """The folder's group are the graders; nbgrader would let everybody in who knew its name.

    The files in it stay readable: some have the student's own group, and the folder is the gate.
    """
    folder.chmod(0o770)


class Page(NamedTuple):
    """A page of feedback: of which assignment, handed in when, where (from the course folder)."""

    assignment: str
    handed_in: str
    path: Path


def fetch_pages(course: Path = Path(), login: Login | None = None) -> tuple[Page, ...]:
    """Fetch what feedback there is, and list it, the newest first. Empty away from a hub."""
    login = login or this_login()
    if login is None or not (_handed_in() / login.class_name).is_dir():
        return ()  # without waiting for nbgrader, which takes seconds to import
    from nbgrader.exchange import ExchangeError
    from nbgrader.exchange.default import ExchangeFetchFeedback

    found = []
    for folder in sorted(course.glob("a*/a*.ipynb")):
        assignment = folder.stem
        with contextlib.suppress(ExchangeError, OSError):  # none was ever given in this class
            _step(ExchangeFetchFeedback, assignment, course, login).start()
        pages = (course / assignment / "feedback").glob(f"*/{assignment}.html")
        found += [Page(assignment, _here(page.parent.name), page.relative_to(course))
                  for page in sorted(pages, reverse=True)]  # fmt: skip
    return tuple(found)


def _here(stamp: str) -> str:
    """The time of nbgrader's stamp as it is here, as `hand_over` says it; any other word as it is.

    >>> _here("kept")
    'kept'
    """
    try:
        at = datetime.strptime(stamp[:19], "%Y-%m-%d %H:%M:%S").replace(tzinfo=UTC)
    except ValueError:
        return stamp
    return f"{at.astimezone():%Y-%m-%d %H:%M}"


def _handed_in() -> Path:
    """Where nbgrader keeps a copy of what was handed in, with what leads to its feedback."""
    return Path.home() / ".local" / "share" / "lengthwise-handed-in"


def _step(kind: Any, assignment: str, course: Path, login: Login) -> Any:
    """One of nbgrader's steps for one assignment of the student's class."""
    from nbgrader.auth import Authenticator
    from nbgrader.coursedir import CourseDirectory
    from traitlets.config import Config

    settings = Config()
    settings.CourseDirectory.root = str(course.resolve())
    settings.CourseDirectory.course_id = login.class_name
    settings.CourseDirectory.assignment_id = assignment
    # Without this nbgrader asks for an exchange that everybody may write to, at its top.
    settings.CourseDirectory.groupshared = True
    settings.CourseDirectory.ignore = list(NOT_SENT)
    settings.Exchange.root = login.exchange
    settings.Exchange.assignment_dir = str(course.resolve())
    settings.Exchange.cache = str(_handed_in())
    quiet = logging.getLogger("lengthwise.hub_desk")
    quiet.setLevel(logging.CRITICAL + 1)
    step = kind(
        coursedir=CourseDirectory(config=settings),
        authenticator=Authenticator(config=settings),
        config=settings,
    )
    step.log = quiet
    return step
