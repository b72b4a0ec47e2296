"""What somebody answers who holds one mistaken belief and is careful otherwise.

Identifiers are those of the course's list of misconceptions. Beliefs that show only in the course's
questions (M10, M12, M14) have no answer here.
"""

from collections.abc import Callable, Sequence

import numpy as np

from lengthwise.evidence import ElectronicReading, PointTrial
from lengthwise.reconciliation import Reconciliation
from lengthwise.reconciliation.trace_quality import assess_trace
from lengthwise.reference import points as p
from lengthwise.reference.tables import canal_length

from .beliefs import LONG_S, implied_lengths_mm
from .determination import Determination

CERTAIN_MM = 0.5
"""Whoever follows one belief thinks that the foramen lies within this of where it leads."""

PAST_MM = 0.5
"""Whoever prefers a little past to a little short goes this far past."""

NARROW_MM = 0.05

Foramen = Callable[[Reconciliation], float | None]


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
    if misconception == "M13" and _all_dry(result):
        return Determination(next_step="longer")
    if misconception == "M9" and takes_length:
        past = result.foramen_mm + PAST_MM
        return Determination(result.foramen_mm, past, careful.low_mm, careful.high_mm, "confirm")
    if misconception == "M11" and takes_length:
        middle, length = result.foramen_mm, careful.working_length_mm
        return Determination(middle, length, middle - NARROW_MM, middle + NARROW_MM, "confirm")
    foramen = believed_foramen_mm(misconception, result)
    if foramen is None:
        return careful
    length = foramen - result.loss.target_mm
    return Determination(foramen, length, foramen - CERTAIN_MM, foramen + CERTAIN_MM, "confirm")


def believed_foramen_mm(misconception: str, result: Reconciliation) -> float | None:
    """Where the belief puts the foramen (mm); None where it does not speak of this case."""
    leads_to = _LEADS_TO.get(misconception)
    return None if leads_to is None else leads_to(result)


def moved_mm(misconception: str, result: Reconciliation) -> float:
    """How far the belief moves the working length (mm, positive is longer).

    Infinite where it takes a length that a careful student does not take, or the other way round,
    and where it goes on longer; 0 where it changes nothing.
    """
    believed, careful = believers_answer(misconception, result), careful_answer(result)
    lengths = believed.working_length_mm, careful.working_length_mm
    if lengths[0] is not None and lengths[1] is not None:
        return lengths[0] - lengths[1]
    return 0.0 if believed == careful else np.inf


def _points(result: Reconciliation) -> list[PointTrial]:
    return [each for each in result.evidence.records if isinstance(each, PointTrial)]


def _mark_ends_mm(trials: Sequence[PointTrial]) -> list[float]:
    return [each.length_mm + each.offset_mm - each.wet_mm for each in trials if each.wet_mm > 0]


def _all_dry(result: Reconciliation) -> bool:
    trials = _points(result)
    return bool(trials) and not any(each.wet_mm for each in trials)


def _by_reading(result: Reconciliation) -> float | None:
    return implied_lengths_mm(result.evidence).get("electronic_reading")


def _by_root_end(result: Reconciliation) -> float | None:
    implied = implied_lengths_mm(result.evidence)
    return implied.get("working_film", implied.get("preoperative_film"))


def _by_average(result: Reconciliation) -> float:
    return canal_length(result.evidence.tooth, result.evidence.canal).mean_mm


def _by_first_wet(result: Reconciliation) -> float | None:
    wet = (each.length_mm + each.offset_mm for each in _points(result) if each.wet_mm > 0)
    return min(wet, default=None)


def _by_long_contact(result: Reconciliation) -> float | None:
    ends = _mark_ends_mm([each for each in _points(result) if each.contact_s > LONG_S])
    return float(np.mean(ends)) if ends else None


def _by_mean_of_drifting(result: Reconciliation) -> float | None:
    ends = _mark_ends_mm(_points(result))
    drifts = len(ends) > 1 and ends[-1] - ends[0] >= p.DRIFT_SUSPECT_MM.value
    return float(np.mean(ends)) if drifts else None


def _by_mean(result: Reconciliation) -> float | None:
    implied = list(implied_lengths_mm(result.evidence).values())
    return float(np.mean(implied)) if implied else None


def _by_steady_reading(result: Reconciliation) -> float | None:
    steady = []
    for each in result.evidence.records:
        if isinstance(each, ElectronicReading) and each.time_s is not None:
            quality = assess_trace(each)
            if quality.signal_mm is not None and all(sign.holds for sign in quality.signs):
                steady.append(quality.signal_mm + each.offset_mm)
    return float(np.mean(steady)) if steady else None


def _by_last_visit(result: Reconciliation) -> float | None:
    """The length of another reference, as it was written down then."""
    implied = implied_lengths_mm(result.evidence)
    before = [each for each in result.evidence.records if each.offset_mm]
    kinds = [each.kind for each in before if each.kind in implied]
    if not kinds:
        return None
    kind = "electronic_reading" if "electronic_reading" in kinds else kinds[-1]
    offset = next(each.offset_mm for each in before if each.kind == kind)
    return implied[kind] - offset


def _by_any_wet(result: Reconciliation) -> float | None:
    """A mark on the side taken for one at the tip."""
    if not any(each.mark_site == "side" for each in _points(result)):
        return None
    return _by_first_wet(result)


_LEADS_TO: dict[str, Foramen] = {
    "M1": _by_reading,
    "M2": _by_root_end,
    "M3": _by_average,
    "M4": _by_first_wet,
    "M5": _by_long_contact,
    "M6": _by_mean_of_drifting,
    "M7": _by_mean,
    "M8": _by_steady_reading,
    "M15": _by_last_visit,
    "M16": _by_any_wet,
}

BELIEFS = tuple(
    sorted((*_LEADS_TO, "M9", "M11", "M13"), key=lambda one: int(one.removeprefix("M")))
)
"""The beliefs that show in lengths, intervals or next steps."""
