"""The answers of a class: truth, evidence and the order of every student's options.

Written once, when the class is made, and never derived again: random streams change between
versions of a library, and a mark must not. The file stays in the class's ``answers`` folder.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.errors import ClassroomError
from lengthwise.marking.graded_case import Case, case_from_json, shown_json, shown_when_made
from lengthwise.marking.items import Item, ShuffledItem, read_items, shuffled
from lengthwise.whole_file import making

SCHEMA = "lengthwise/answers/1"
NONE_OWN: Mapping[str, Case] = MappingProxyType({})


@dataclass(frozen=True)
class StudentKey:
    """One student's cases and lettered items, with everything that marking needs."""

    cases: dict[str, Case]
    items: dict[str, ShuffledItem]


@dataclass(frozen=True)
class AnswerKey:
    """What the answers file of one assignment says."""

    class_name: str
    assignment: str
    students: dict[str, StudentKey]

    def of(self, student: str) -> StudentKey:
        """The key of one student of the class; raises `ClassroomError` for anybody else."""
        return self.students[_listed(student, self.students, self.class_name)]


def _listed(student: str, students: Iterable[str], class_name: str) -> str:
    if student not in students:
        raise ClassroomError(
            f"{student} is not on the class list of {class_name}, so there are no cases "
            "to grade against."
        )
    return student


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def draw_key(
    taught: ClassFolder,
    assignment: str,
    students: Iterable[str],
    secret: bytes,
    on_drawn: Callable[[], None] = lambda: None,
    own: Mapping[str, Case] = NONE_OWN,
) -> AnswerKey:
    """Draw cases and option orders for every student from the class's secret.

    Where the instructor has cases of their own, every student gets those.
    """
    # Grading needs none of what draws cases, which takes half a second to import.
    from lengthwise.marking.casebook import draw_assignment, student_generator

    items = _asked(taught.items_path(assignment))
    keys = {}
    for student in students:
        rng = student_generator(secret, assignment, student)
        cases = dict(own) or draw_assignment(assignment, target_mm=taught.target_mm, rng=rng)
        lettered = {name: shuffled(item, rng) for name, item in items.items()}
        keys[student] = StudentKey(cases, lettered)
        on_drawn()
    return AnswerKey(taught.name, assignment, keys)


def _asked(path: Path) -> dict[str, Item]:
    try:
        return read_items(path)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ClassroomError(
            f"The questions {path} cannot be read ({type(error).__name__}: {error}); mend them."
        ) from None


def write_key(taught: ClassFolder, key: AnswerKey) -> None:
    """Write the answers file, all of it or nothing, readable by its owner alone."""
    students = {
        student: {
            "cases": {name: json.loads(case.to_json()) for name, case in one.cases.items()},
            "evidence_digest": {
                name: _digest(shown_json(case)) for name, case in one.cases.items()
            },
            "item_order": {name: list(item.order) for name, item in one.items.items()},
        }
        for student, one in key.students.items()
    }
    told = {
        "schema": SCHEMA,
        "class": key.class_name,
        "assignment": key.assignment,
        "target_mm": taught.target_mm,
        "library_version": taught.library_version,
        "students": students,
    }
    with making(taught.answers_path(key.assignment)) as path:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            json.dump(told, stream)


def read_key(taught: ClassFolder, assignment: str) -> AnswerKey:
    """Read the answers of all students."""
    with _said_where(taught, assignment):
        told, items = _told(taught, assignment)
        students = {student: _key(one, items) for student, one in told["students"].items()}
        return AnswerKey(told["class"], told["assignment"], students)


def key_of(taught: ClassFolder, assignment: str, student: str) -> StudentKey:
    """The answers of one student; raises `ClassroomError` for who is not on the class list."""
    with _said_where(taught, assignment):
        told, items = _told(taught, assignment)
        return _key(told["students"][_listed(student, told["students"], told["class"])], items)


@contextmanager
def _said_where(taught: ClassFolder, assignment: str) -> Iterator[None]:
    try:
        yield
    except ClassroomError:
        raise
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ClassroomError(
            f"The answers of {assignment} cannot be read ({error}); put "
            f"{taught.answers_path(assignment)} back from a copy of the class."
        ) from error


def _told(taught: ClassFolder, assignment: str) -> tuple[Mapping[str, Any], Mapping[str, Item]]:
    """The answers file as it stands, and the items."""
    paths = taught.answers_path(assignment), taught.items_path(assignment)
    return _parsed(*paths, tuple(path.stat().st_mtime_ns for path in paths))


@lru_cache(maxsize=4)
def _parsed(
    path: Path, items_path: Path, changed_ns: tuple[int, ...]
) -> tuple[Mapping[str, Any], Mapping[str, Item]]:
    """Parsed once, for as long as neither file changes. All who ask share it: only to be read."""
    told = json.loads(path.read_text(encoding="utf-8"))
    if told["schema"] != SCHEMA:
        raise ValueError(f"its schema is {told['schema']!r}, not {SCHEMA!r}")
    return told, read_items(items_path)


def _key(one: Mapping[str, Any], items: Mapping[str, Item]) -> StudentKey:
    cases = {name: case_from_json(json.dumps(case)) for name, case in one["cases"].items()}
    for name, case in cases.items():
        shown = shown_when_made(case, one["cases"][name])
        if _digest(shown) != one["evidence_digest"][name]:
            raise ValueError(f"the evidence of {name} was changed after the class was made")
    lettered = {name: _lettered(items[name], order) for name, order in one["item_order"].items()}
    return StudentKey(cases, lettered)


def _lettered(item: Item, order: list[int]) -> ShuffledItem:
    if sorted(order) != list(range(len(item.options))):
        raise ValueError(f"the options of {item.id} were changed after the class was made")
    return ShuffledItem(item, tuple(order))
