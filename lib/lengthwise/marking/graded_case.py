"""A question of an assignment, whichever kind it is, and what is kept and shown of it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lengthwise.evidence import Evidence

from .exercise import Exercise
from .rounds import KEPT_BACK, Rounds


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


def shown_when_made(case: Case, kept: Mapping[str, Any]) -> str:
    """`shown_json` of the day on which the class was made, from a case and what is kept of it.

    Rounds may be packed in another way today, so what stands in the file is what was shown.
    """
    if isinstance(case, Rounds):
        return json.dumps({name: part for name, part in kept.items() if name not in KEPT_BACK})
    return shown_json(case)
