"""Make a class: a folder of its own, with cases for every student and the release to hand out."""

from __future__ import annotations

import os
import secrets
import shutil
import tempfile
from collections.abc import Callable, Mapping
from importlib.metadata import version
from pathlib import Path

import lengthwise
from lengthwise.classroom.answer_key import NONE_OWN, draw_key, write_key
from lengthwise.classroom.class_folder import (
    MARKER,
    ClassFolder,
    checked_name,
    class_toml,
    open_class,
)
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.gradebook import address_for_new, forget, opened_gradebook
from lengthwise.classroom.grader import (
    CONFIG,
    find_programs_of_this_environment,
    grader,
    said_in_plain_words,
)
from lengthwise.classroom.own_cases import SET_IN, as_questions
from lengthwise.classroom.release import CASES
from lengthwise.classroom.roster import Student
from lengthwise.marking.casebook import COMPOSERS
from lengthwise.marking.graded_case import Case, GradedCase

ASSIGNMENTS = tuple(COMPOSERS)
SHORTEST_TARGET_MM, LONGEST_TARGET_MM = 0.0, 2.0


def course_folder() -> Path:
    """The ``course`` folder of the checkout that this library is installed from."""
    folder = Path(lengthwise.__file__).resolve().parents[2] / "course"
    if not (folder / CONFIG).is_file():
        raise ClassroomError(f"The course folder was not found at {folder}; name it with --course.")
    return folder


def make_class(
    name: str,
    students: tuple[Student, ...],
    *,
    target_mm: float,
    where: Path,
    course: Path,
    assignments: tuple[str, ...] = ASSIGNMENTS,
    secret: bytes | None = None,
    on_drawn: Callable[[], None] = lambda: None,
    own_cases: Mapping[str, GradedCase] | None = None,
    gradebook: str = "",
) -> ClassFolder:
    """Make the class ``name`` as a folder in ``where``, released and ready to hand out.

    The folder appears when everything in it is done; a failure on the way leaves nothing.
    ``own_cases``, by name, are given to every student in place of drawn ones.
    ``gradebook`` is the address of an empty database on a server, for a class that shall not keep
    its marks in a file of its own. ``secret`` is for classes that must come out the same every
    time, such as the demo.
    """
    checked_name("class name", name)
    if not SHORTEST_TARGET_MM <= target_mm <= LONGEST_TARGET_MM:
        raise ClassroomError(
            f"The target distance {target_mm:g} mm is not between {SHORTEST_TARGET_MM:g} and "
            f"{LONGEST_TARGET_MM:g}; it is how far short of the foramen you teach, such as 0.5."
        )
    root = where / name
    if root.exists() or root.is_symlink():
        raise ClassroomError(
            f"{root} is already there and stays as it is; choose another name or place."
        )
    unknown = [each for each in assignments if each not in ASSIGNMENTS]
    if unknown or not assignments:
        raise ClassroomError(
            f"There is no assignment {', '.join(unknown) or 'named'}; choose from "
            f"{', '.join(ASSIGNMENTS)}."
        )
    own = as_questions(own_cases, target_mm, assignments) if own_cases is not None else NONE_OWN
    if not where.is_dir():
        raise ClassroomError(f"{where} is not a folder; make it first, or choose another place.")
    address = address_for_new(gradebook)
    making = Path(tempfile.mkdtemp(dir=where, prefix=f".{name}.making-"))
    fresh = ClassFolder(
        *(making, name, target_mm, assignments, version("lengthwise")),
        gradebook=address,
        id=secrets.token_hex(8),
    )
    try:
        _fill(fresh, students, course, secret, on_drawn, own)
        making.chmod(0o755)
        making.rename(root)
    except BaseException:
        shutil.rmtree(making, ignore_errors=True)
        forget(fresh)
        raise
    return open_class(root)


def _fill(
    fresh: ClassFolder,
    students: tuple[Student, ...],
    course: Path,
    secret: bytes | None,
    on_drawn: Callable[[], None],
    own: Mapping[str, Case],
) -> None:
    root, assignments = fresh.root, fresh.assignments
    secret = secrets.token_bytes(32) if secret is None else secret
    _write_secret(root / "secret", secret)
    (root / MARKER).write_text(class_toml(fresh), encoding="utf-8")
    shutil.copyfile(course / CONFIG, root / CONFIG)
    (root / "answers").mkdir(mode=0o700)
    for folder in ("submitted", "autograded", "feedback", "records"):
        (root / folder).mkdir()
    taught = open_class(root)
    _enter(taught, students)  # first: cases take minutes to draw, and a database may be refused
    for assignment in assignments:
        shutil.copytree(
            course / "source" / assignment,
            root / "source" / assignment,
            ignore=shutil.ignore_patterns(".*", CASES, "__pycache__"),
        )
        shutil.copyfile(course / "items" / f"{assignment}.toml", taught.items_path(assignment))
        given = own if assignment == SET_IN else NONE_OWN
        key = draw_key(taught, assignment, [one.id for one in students], secret, on_drawn, given)
        write_key(taught, key)
    api = grader(taught)
    for assignment in assignments:
        result = api.generate_assignment(assignment)
        if not result["success"]:
            raise ClassroomError(
                f"The release of {assignment} was not made: {said_in_plain_words(result)}."
            )
        if not (taught.release_folder(assignment) / CASES).is_file():
            raise ClassroomError(f"The cases of {assignment} were not written into the release.")


def _write_secret(path: Path, secret: bytes) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as stream:
        stream.write(secret)


def _enter(taught: ClassFolder, students: tuple[Student, ...]) -> None:
    """Enter the class list into the gradebook."""
    find_programs_of_this_environment()
    with opened_gradebook(taught, new=True) as gradebook:
        for one in students:
            known = {
                field: value
                for field in ("first_name", "last_name", "email")
                if (value := getattr(one, field))
            }
            gradebook.update_or_create_student(one.id, **known)
