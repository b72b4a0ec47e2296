"""A class is a folder. This module knows its layout and nothing about how it is filled.

::

    nbgrader_config.py   how nbgrader grades this class (a copy of the course's)
    class.toml           name, target distance, assignments, version of the library, gradebook
    secret               the class's own random bytes (readable by its owner alone)
    answers/             truth, evidence and item keys: never handed out
    source/              the assignments as released from
    release/             what students get
    submitted/           what students handed in
    autograded/          marked copies, one a student
    feedback/            one page a student, and all of them in one zip
    records/             what grading found: repairs, unread answers
    own_cases/           cases of the instructor's own, with their truth, where some were kept
    gradebook.db         nbgrader's marks, unless class.toml names a database on a server
"""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from lengthwise.classroom.errors import ClassroomError

MARKER = "class.toml"
_WINDOWS_KEEPS = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE)
_NAME = re.compile(r"[^\W_][\w.@+-]*")


@dataclass(frozen=True)
class ClassFolder:
    """Where everything of one class is, and what its ``class.toml`` says.

    ``gradebook`` is the address of a database on a server, or empty: see `gradebook`. ``id`` tells
    this class from every other one that has the same name.
    """

    root: Path
    name: str
    target_mm: float
    assignments: tuple[str, ...]
    library_version: str
    gradebook: str = ""
    id: str = ""

    def answers_path(self, assignment: str) -> Path:
        """Truth, evidence and item order of every student."""
        return self.root / "answers" / f"{assignment}.json"

    def items_path(self, assignment: str) -> Path:
        """The assignment's items with their keys."""
        return self.root / "answers" / f"{assignment}.toml"

    def release_folder(self, assignment: str) -> Path:
        """What students get."""
        return self.root / "release" / assignment

    def released_notebook(self, assignment: str) -> Path:
        """The notebook as students got it."""
        return self.release_folder(assignment) / f"{assignment}.ipynb"

    def submission_folder(self, student: str, assignment: str) -> Path:
        """Where a student's file is put for grading."""
        return self.root / "submitted" / student / assignment

    def record_path(self, student: str, assignment: str) -> Path:
        """What grading found in a student's file."""
        return self.root / "records" / assignment / f"{student}.json"

    def submitted_students(self, assignment: str) -> tuple[str, ...]:
        """Students whose file has been collected, in order of their ids."""
        notebook = f"*/{assignment}/{assignment}.ipynb"
        found = (self.root / "submitted").glob(notebook)
        return tuple(sorted(path.parts[-3] for path in found))

    def nearest_assignment(self, typed: str) -> str | None:
        """The assignment that a word comes close to, such as a6 or a6_reconsile; None if none."""
        begins = [one for one in self.assignments if typed and one.startswith(typed.lower())]
        return next(iter(begins or get_close_matches(typed.lower(), self.assignments, 1)), None)

    def assignment_or_only(self, assignment: str | None) -> str:
        """The assignment asked for, or the class's only one."""
        if assignment is None and len(self.assignments) == 1:
            return self.assignments[0]
        if assignment not in self.assignments:
            asked = "no assignment was named" if assignment is None else f"no '{assignment}' in it"
            near = self.nearest_assignment(assignment or "")
            raise ClassroomError(
                f"Class {self.name}: {asked}; it has {', '.join(self.assignments)}. "
                + (f"Did you mean {near}?" if near else "Name one of them.")
            )
        return assignment


def class_toml(taught: ClassFolder) -> str:
    """The text of ``class.toml``."""
    listed = ", ".join(json.dumps(assignment) for assignment in taught.assignments)
    gradebook = json.dumps(taught.gradebook)
    return (
        '# A class of Lengthwise. Made by "lengthwise new-class"; not meant to be edited, but for\n'
        "# the line gradebook: a database on a server, or nothing for the file gradebook.db.\n"
        f"name = {json.dumps(taught.name, ensure_ascii=False)}\n"
        f"id = {json.dumps(taught.id)}\n"
        f"target_mm = {float(taught.target_mm)!r}  # working length = foramen minus this\n"
        f"assignments = [{listed}]\n"
        f"library_version = {json.dumps(taught.library_version)}\n"
        f"gradebook = {gradebook}\n"
    )


def open_class(folder: Path) -> ClassFolder:
    """Open the class in ``folder`` or in one of the folders above it.

    Raises `ClassroomError` when there is none or its ``class.toml`` is damaged.
    """
    start = folder.resolve()
    for root in (start, *start.parents):
        marker = root / MARKER
        if marker.is_file():
            return _read_marker(root, marker)
    raise ClassroomError(
        f"There is no class in {folder} (no {MARKER}); go into the class's folder, or name it "
        "with --class."
    )


def _read_marker(root: Path, marker: Path) -> ClassFolder:
    try:
        told = tomllib.loads(marker.read_text(encoding="utf-8"))
        return ClassFolder(
            root=root,
            name=str(told["name"]),
            target_mm=float(told["target_mm"]),
            assignments=tuple(str(name) for name in told["assignments"]),
            library_version=str(told["library_version"]),
            gradebook=str(told.get("gradebook", "")),
            id=str(told.get("id", told["name"])),
        )
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ClassroomError(
            f"{marker} cannot be read ({error}); put it back from a copy of the class."
        ) from error


def checked_name(what: str, name: str) -> str:
    """A name that is safe as a folder on every system; raises `ClassroomError` otherwise.

    >>> checked_name("class name", "Spring-2")
    'Spring-2'
    >>> checked_name("class name", "../x")
    Traceback (most recent call last):
        ...
    lengthwise.classroom.errors.ClassroomError: The class name '../x' cannot name a folder: \
use letters, digits, and - _ . @ + after the first character (at most 60).
    """
    if len(name) > 60 or not _NAME.fullmatch(name) or name.endswith("."):
        raise ClassroomError(
            f"The {what} {name!r} cannot name a folder: use letters, digits, and - _ . @ + "
            "after the first character (at most 60)."
        )
    if _WINDOWS_KEEPS.fullmatch(name):
        raise ClassroomError(f"The {what} {name!r} is kept for itself by Windows: use another.")
    return name
