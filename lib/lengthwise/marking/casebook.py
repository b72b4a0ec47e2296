"""Cases for graded assignments: one set for every student, the same each time it is asked for."""

import hashlib
import hmac
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from lengthwise.evidence import Evidence

from .exercise import Exercise
from .rounds import Rounds

Generator = np.random.Generator


@dataclass(frozen=True)
class GradedCase:
    """A case to be determined, and what the instructor keeps.

    Attributes
    ----------
    evidence : what the student sees.
    target_mm : the class's distance from the foramen.
    foramen_mm : the truth, for the instructor's eyes; marks never use it.
    trap : what makes this case hard, in plain words.
    """

    evidence: Evidence
    target_mm: float
    foramen_mm: float
    trap: str

    def to_json(self) -> str:
        """The case as JSON text, truth included: for the instructor's folder only."""
        return json.dumps(
            {
                "evidence": json.loads(self.evidence.to_json()),
                "target_mm": self.target_mm,
                "foramen_mm": self.foramen_mm,
                "trap": self.trap,
            }
        )

    @classmethod
    def from_json(cls, text: str) -> "GradedCase":
        """A case as `to_json` wrote it."""
        data = json.loads(text)
        return cls(
            Evidence.from_json(json.dumps(data["evidence"])),
            data["target_mm"],
            data["foramen_mm"],
            data["trap"],
        )


Case = GradedCase | Exercise | Rounds
"""A question: evidence to be weighed, values to be given, or actions to be chosen."""


def case_from_json(text: str) -> Case:
    """A question of any kind, as its `to_json` wrote it."""
    data = json.loads(text)
    if "happens" in data:
        return Rounds.from_json(text)
    if "asked" in data:
        return Exercise.from_json(text)
    return GradedCase.from_json(text)


def shown_json(case: Case) -> str:
    """What the student is given, as JSON text without any answer."""
    return case.evidence.to_json() if isinstance(case, GradedCase) else json.dumps(case.shown())


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
    """
    text = f"{class_name}|{assignment}|{student_id}"
    return hashlib.sha256(text.encode()).hexdigest()[:10]


def draw_assignment(assignment: str, *, target_mm: float, rng: Generator) -> dict[str, Case]:
    """The cases of an assignment by question, drawn afresh from `rng`."""
    from . import (  # the assignments' composers build on this module
        a1_cases,
        a2_cases,
        a3_cases,
        a4_cases,
        a5_cases,
        a6_cases,
        a7_cases,
    )

    composers: dict[str, Callable[[float, Generator], Mapping[str, Case]]] = {
        "a1_landmarks": a1_cases.draw_cases,
        "a2_radiographs": a2_cases.draw_cases,
        "a3_readings": a3_cases.draw_cases,
        "a4_point_trials": a4_cases.draw_cases,
        "a5_dry_again": a5_cases.draw_cases,
        "a6_reconcile": a6_cases.draw_cases,
        "a7_ten_canals": a7_cases.draw_cases,
    }
    if assignment not in composers:
        raise ValueError(
            f"field assignment: got {assignment!r}; allowed are {', '.join(composers)}; check "
            "its spelling"
        )
    return dict(composers[assignment](target_mm, rng))
