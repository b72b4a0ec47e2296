"""The ten kinds of canal of assignment a7, and when a canal teaches what it is there for.

What was written down decides, never the truth.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lengthwise.evidence import Evidence, PointTrial
from lengthwise.reconciliation import Reconciliation
from lengthwise.reconciliation.next_step import narrow_enough
from lengthwise.reconciliation.trace_quality import TraceQuality
from lengthwise.reference import actions
from lengthwise.reference import points as p
from lengthwise.reference.tables import canal_length

from . import a7_takes as takes
from .a7_chair import Chair, Generator, Place
from .beliefs import believed_foramen_mm

Implied = Mapping[str, float]
"""The foramen (mm) by each kind of source, taken at its word."""

FRONT = tuple(
    Place(fdi, "single", reference)
    for reference, teeth in {
        "incisal edge": ("11", "12", "21", "22"),
        "cusp tip": ("13", "23", "33", "43"),
        "buccal cusp tip": ("34", "44"),
    }.items()
    for fdi in teeth
)
BACK = (
    Place("35", "single", "buccal cusp tip", near_nerve_or_sinus=True),
    Place("45", "single", "buccal cusp tip", near_nerve_or_sinus=True),
    Place("36", "D", "distobuccal cusp tip", near_nerve_or_sinus=True),
    Place("46", "D", "distobuccal cusp tip", near_nerve_or_sinus=True),
    Place("16", "P", "mesiopalatal cusp tip", near_nerve_or_sinus=True),
    Place("26", "P", "mesiopalatal cusp tip", near_nerve_or_sinus=True),
)

MOVES_MM = 0.8
"""The belief that a canal is there for moves its length by at least this much."""

AGREE_MM = 1.2
"""Sources that agree are at most this far apart, each taken at its word."""

APART_MM = 1.3
"""A reading that does not belong is at least this far from the mean of the others."""

OFF_AVERAGE_MM = 1.5
"""A tooth for which the average will not do, by the radiograph before treatment."""

UNUSABLE = 0.35
"""A trace that is less probably usable than this is plainly not to be followed."""

DRIFTS_MM, BACK_MM = 1.5 * p.DRIFT_SUSPECT_MM.value, 0.35
"""Marks that plainly drift: so much in all, and from point to point never further back."""


@dataclass(frozen=True)
class Kind:
    """One kind of canal.

    Attributes
    ----------
    trap : what makes it hard, for the instructor.
    places : the teeth that it may be in.
    trouble : what disturbs its reading.
    reading : how its trace has to look.
    take : takes the records and gives the case.
    sources : how the sources have to look, taken at their word; cheaper than weighing them.
    moves : beliefs that have to move the length by `MOVES_MM`.
    ends : the next step that is right.
    """

    trap: str
    places: tuple[Place, ...]
    trouble: str
    reading: Callable[[TraceQuality], bool]
    take: Callable[[Chair, Generator], Evidence]
    sources: Callable[[Evidence, Implied], bool]
    moves: tuple[str, ...] = ()
    ends: str = "confirm"

    def fits(self, result: Reconciliation) -> bool:
        """Whether the recommendation is the kind's, and clearly so."""
        if not all(self._moves(belief, result) for belief in self.moves):
            return False
        if self.ends == "confirm":
            return narrow_enough(result.interval_mm()) and result.next_step.word == "confirm"
        clearly, net = actions.NEARLY_EQUAL_WORTH.value, result.next_step.net
        return result.next_step.word == self.ends and (net is None or net > clearly)

    @staticmethod
    def _moves(belief: str, result: Reconciliation) -> bool:
        foramen = believed_foramen_mm(belief, result.evidence)
        if foramen is None:
            return False
        return abs(foramen - result.loss.target_mm - result.best_length_mm) >= MOVES_MM


def stable(trace: TraceQuality) -> bool:
    """All three signs hold."""
    return all(sign.holds for sign in trace.signs)


def unstable(trace: TraceQuality) -> bool:
    """Plainly not to be followed."""
    return not stable(trace) and trace.usable < UNUSABLE


def _spread(values: list[float]) -> float:
    return max(values) - min(values)


def _without(implied: Implied, kind: str) -> list[float]:
    return [mm for one, mm in implied.items() if one != kind]


def _reading_apart_mm(implied: Implied) -> float:
    return implied["electronic_reading"] - float(np.mean(_without(implied, "electronic_reading")))


def _trials(case: Evidence) -> list[PointTrial]:
    return [one for one in case.records if isinstance(one, PointTrial)]


def turned(case: Evidence) -> bool:
    """Points that ran freely, first dry, then wet and wet again."""
    marks = [one.wet_mm > 0 for one in _trials(case)]
    ran = all(one.ran_freely for one in _trials(case))
    return ran and marks == sorted(marks) and 2 <= sum(marks) < len(marks)


def _agree(case: Evidence, implied: Implied) -> bool:
    return turned(case) and _spread(list(implied.values())) < AGREE_MM


def _root_end_far(case: Evidence, implied: Implied) -> bool:
    inside = [implied["electronic_reading"], implied.get("point_trial", np.inf)]
    films = [implied["preoperative_film"], implied["working_film"]]
    far = implied["working_film"] - float(np.mean(inside))
    return turned(case) and max(map(_spread, (inside, films))) < AGREE_MM and far >= MOVES_MM


def _reading_alone(case: Evidence, implied: Implied) -> bool:
    others = _without(implied, "electronic_reading")
    apart = abs(_reading_apart_mm(implied)) >= APART_MM
    return turned(case) and _spread(others) < AGREE_MM and apart


def _reading_short(case: Evidence, implied: Implied) -> bool:
    return _reading_apart_mm(implied) < 0 and _reading_alone(case, implied)


def _long_marks(case: Evidence, implied: Implied) -> bool:
    mean = canal_length(case.tooth, case.canal).mean_mm
    return turned(case) and abs(implied["preoperative_film"] - mean) >= OFF_AVERAGE_MM


def drifts(case: Evidence, implied: Implied) -> bool:
    """Marks at the tip that get shorter from point to point."""
    ends = [one.length_mm - one.wet_mm for one in _trials(case) if one.wet_mm > 0]
    at_tip = {one.mark_site for one in _trials(case)} <= {"none", "tip_straight"}
    onward = len(ends) > 2 and all(b - a > -BACK_MM for a, b in pairwise(ends))
    return at_tip and onward and ends[-1] - ends[0] >= DRIFTS_MM


def all_dry(case: Evidence, implied: Implied) -> bool:
    """No point picked anything up."""
    return not any(one.wet_mm for one in _trials(case))


def wet_aside(case: Evidence, implied: Implied) -> bool:
    """The last point was wet on its side."""
    return _trials(case)[-1].mark_site == "side"


KINDS = (
    Kind("none, near a nerve or the sinus", BACK, "none", stable, takes.everything, _agree),
    Kind("the root ends far beyond the foramen", FRONT, "none", stable, takes.everything,
         _root_end_far, moves=("M2",)),
    Kind("an unstable reading, and few sources", FRONT, "loose", unstable,
         takes.without_file, _reading_alone, moves=("M1", "M7")),
    Kind("a steady reading that is short", FRONT, "moist", stable, takes.everything,
         _reading_short, moves=("M8",)),
    Kind("a steady reading that is short, and few sources", FRONT, "moist", stable,
         takes.without_file, _reading_short, moves=("M8",)),
    Kind("points held for 5 s, and a tooth off the average", FRONT, "none", stable,
         takes.held_long, _long_marks, moves=("M2", "M3", "M5")),
    Kind("another reference at the second visit", FRONT + BACK, "none", stable,
         takes.cusp_reduced, _agree, moves=("M15",)),
    Kind("not yet: marks that drift, and an unstable reading", FRONT, "bloody and loose",
         unstable, takes.wet, drifts, ends="points"),
    Kind("not yet: dry as far as a point may go", FRONT + BACK, "none", stable,
         takes.blocked, all_dry, ends="points"),
    Kind("not yet: a mark on the side", FRONT + BACK, "none", stable, takes.opened_aside,
         wet_aside, ends="ask"),
)  # fmt: skip
"""One canal of each to every student: so every variant holds each trap as often."""
