"""Cases for graded assignments: one set for every student, the same each time it is asked for."""

import hashlib
import hmac
from collections.abc import Callable, Mapping

import numpy as np

from . import a1_cases, a2_cases, a3_cases, a4_cases, a5_cases, a6_cases, a7_cases
from .graded_case import Case
from .student_id import folded_id

Generator = np.random.Generator


COMPOSERS: dict[str, Callable[[float, Generator], Mapping[str, Case]]] = {
    "a1_landmarks": a1_cases.draw_cases,
    "a2_radiographs": a2_cases.draw_cases,
    "a3_readings": a3_cases.draw_cases,
    "a4_point_trials": a4_cases.draw_cases,
    "a5_dry_again": a5_cases.draw_cases,
    "a6_reconcile": a6_cases.draw_cases,
    "a7_ten_canals": a7_cases.draw_cases,
}
"""What draws the cases of each assignment, by its name."""


def student_generator(secret: bytes, assignment: str, student_id: str) -> Generator:
    """The random numbers of one student's assignment: HMAC-SHA256 of the names with the secret.

    >>> first = student_generator(b"secret", "a6_reconcile", "student-01").random()
    >>> first == student_generator(b"secret", "a6_reconcile", "student-01").random()
    True
    """
    message = f"{assignment}|{student_id}".encode()
    digest = hmac.new(secret, message, hashlib.sha256).digest()
    return np.random.default_rng(int.from_bytes(digest, "big"))


def case_key(class_name: str, assignment: str, student_id: str) -> str:
    """Where a student's cases stand in the release: ten hex digits that do not show who it is.

    >>> case_key("spring", "a6_reconcile", "student-01")
    '2c2d9c66d2'
    >>> case_key("spring", "a6_reconcile", " Student-01")
    '2c2d9c66d2'
    """
    text = f"{class_name}|{assignment}|{folded_id(student_id)}"
    return hashlib.sha256(text.encode()).hexdigest()[:10]


def draw_assignment(assignment: str, *, target_mm: float, rng: Generator) -> dict[str, Case]:
    """The cases of an assignment by question, drawn afresh from `rng`."""
    if assignment not in COMPOSERS:
        raise ValueError(
            f"field assignment: got {assignment!r}; allowed are {', '.join(COMPOSERS)}; check "
            "its spelling"
        )
    return dict(COMPOSERS[assignment](target_mm, rng))
