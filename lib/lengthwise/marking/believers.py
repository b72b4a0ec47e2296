"""What somebody answers who holds one mistaken belief and is careful otherwise.

Identifiers are those of `misconceptions`. Beliefs that show only in the course's questions (M10,
M12, M14) have no answer here.
"""

from lengthwise.reconciliation import Reconciliation

from .beliefs import BELIEFS, believed_foramen_mm, points_of
from .determination import Determination

CERTAIN_MM = 0.5
"""Whoever follows one belief thinks that the foramen lies within this of where it leads."""

PAST_MM = 0.5
"""Whoever prefers a little past to a little short goes this far past."""

NARROW_MM = 0.05


def careful_answer(result: Reconciliation) -> Determination:
    """What the evidence supports: the length and its interval, or "not yet" and the next step."""
    if result.working_length_mm is None:
        return Determination(next_step=result.next_step.word)
    low, high = result.interval_mm()
    return Determination(result.foramen_mm, result.working_length_mm, low, high, "confirm")


def believers_answer(misconception: str, result: Reconciliation) -> Determination:
    """What somebody with this belief answers; as a careful one where it does not come up.

    Examples
    --------
    >>> from lengthwise.evidence import Evidence
    >>> from lengthwise.reconciliation import reconcile
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "cusp tip", "evidence": [
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 22.0}]}''')
    >>> believers_answer("M1", reconcile(case, target_mm=0.5)).working_length_mm
    21.5
    """
    careful = careful_answer(result)
    takes_length = careful.working_length_mm is not None
    if misconception == "M13" and stays_dry(result):
        return Determination(next_step="longer")
    if misconception == "M9" and takes_length:
        past = result.foramen_mm + PAST_MM
        return Determination(result.foramen_mm, past, careful.low_mm, careful.high_mm, "confirm")
    if misconception == "M11" and takes_length:
        middle, length = result.foramen_mm, careful.working_length_mm
        return Determination(middle, length, middle - NARROW_MM, middle + NARROW_MM, "confirm")
    foramen = believed_foramen_mm(misconception, result.evidence)
    if foramen is None:
        return careful
    length = foramen - result.loss.target_mm
    return Determination(foramen, length, foramen - CERTAIN_MM, foramen + CERTAIN_MM, "confirm")


def stays_dry(result: Reconciliation) -> bool:
    """Whether points were tried, and every one came out dry."""
    trials = points_of(result.evidence)
    return bool(trials) and not any(each.wet_mm for each in trials)


BELIEVERS = tuple(sorted((*BELIEFS, "M9", "M11", "M13"), key=lambda one: int(one[1:])))
"""The beliefs that show in lengths, intervals or next steps."""
