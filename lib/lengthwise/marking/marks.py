"""The marks of a determination, judged by the evidence and never by a hidden truth.

- Length (half): full from 0.5 mm short of the library's recommendation to 0.25 mm long of it,
  falling linearly to nothing at 1.0 mm short and 0.5 mm long.
- Interval (half): the posterior-expected interval score (Gneiting & Raftery 2007, J Am Stat
  Assoc 102:359) of the best 90 % interval over that of the student's.
- "Not yet": where the library takes no length, saying so is half and the right next step the
  other half; steps that are worth nearly as much as the best (`NEARLY_EQUAL_WORTH`) are as right.
  Where it takes one, "not yet" earns nothing; nor does a length where it takes none.
- A step that could hurt somebody earns nothing.
"""

from dataclasses import replace

import numpy as np

from lengthwise.reconciliation import Reconciliation, reconcile
from lengthwise.reconciliation.next_step import UNSAFE_STEPS
from lengthwise.reconciliation.posterior import Posterior

from .determination import Determination
from .determination_clues import clues_of
from .explanation import explain
from .graded_case import GradedCase
from .interval_score import interval_score
from .marks_record import Marks
from .past_foramen import past_foramen

__all__ = ["Marks", "expected_interval_score", "mark", "mark_weighed"]

FULL_SHORT_MM, FULL_LONG_MM = -0.5, 0.25
NOTHING_SHORT_MM, NOTHING_LONG_MM = -1.0, 0.5


def mark(determination: Determination, case: GradedCase) -> Marks:
    """Mark a determination against the reconciliation of the same evidence.

    Examples
    --------
    >>> from lengthwise.evidence import Evidence
    >>> case = GradedCase(Evidence.from_json('''{"schema": "lengthwise/evidence/1",
    ...     "tooth": "13", "canal": "single", "reference_point": "incisal edge",
    ...     "context": {"apex": "immature"}, "evidence": []}'''), target_mm=0.5,
    ...     foramen_mm=24.0, trap="out of scope")
    >>> mark(Determination(next_step="ask"), case).share
    1.0
    >>> mark(Determination(24.0, 23.5, 23.5, 24.5), case).share
    0.0
    """
    marks = mark_weighed(determination, reconcile(case.evidence, target_mm=case.target_mm))
    said = [past_foramen(determination, case), marks.explanation]
    return replace(marks, explanation="\n\n".join(filter(None, said)))


def mark_weighed(determination: Determination, result: Reconciliation) -> Marks:
    """The same where the evidence has been weighed already."""
    earned = _earned(determination, result)
    return replace(
        earned,
        explanation=explain(determination, result, earned),
        clues=clues_of(determination, result),
        yours=determination.in_brief,
        supported=_in_brief(result),
    )


def _in_brief(result: Reconciliation) -> str:
    if result.working_length_mm is None:
        return f"not yet ({result.next_step.word})"
    return f"{result.working_length_mm:g} mm"


def _earned(determination: Determination, result: Reconciliation) -> Marks:
    if determination.is_blank:
        return Marks(0.0, "")
    if determination.next_step in UNSAFE_STEPS:
        return Marks(0.0, "", safety_failure=True)
    if result.working_length_mm is None:
        right = (result.next_step.word, *result.next_step.also)
        share = 0.5 + 0.5 * (determination.next_step in right)
        return Marks(share if determination.is_not_yet else 0.0, "")
    length = _length_share(determination.working_length_mm, result.working_length_mm)
    interval = _interval_share(determination, result)
    if determination.is_not_yet:
        length = interval = 0.0
    return Marks((length + interval) / 2, "", length_share=length, interval_share=interval)


def _length_share(length_mm: float | None, recommended_mm: float) -> float:
    if length_mm is None:
        return 0.0
    knots_mm = [NOTHING_SHORT_MM, FULL_SHORT_MM, FULL_LONG_MM, NOTHING_LONG_MM]
    return float(np.interp(length_mm - recommended_mm, knots_mm, [0.0, 1.0, 1.0, 0.0]))


def _interval_share(determination: Determination, result: Reconciliation) -> float:
    low, high = determination.low_mm, determination.high_mm
    if low is None or high is None:
        return 0.0
    best = expected_interval_score(result.posterior, *result.interval_mm())
    return float(min(best / expected_interval_score(result.posterior, low, high), 1.0))


def expected_interval_score(posterior: Posterior, low_mm: float, high_mm: float) -> float:
    """Posterior-expected interval score (mm) of a 90 % interval: its width, and 20 times each miss.

    Smaller is better; the central 90 % interval has the smallest.
    """
    return float(interval_score(low_mm, high_mm, posterior.grid_mm) @ posterior.weights)
