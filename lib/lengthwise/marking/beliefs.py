"""Where each mistaken belief puts the foramen.

Identifiers are those of `misconceptions`. Beliefs that lead to no length of their own (M10, M12,
M14 show in questions; M9, M11, M13 in what is done with a length) are not here.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from lengthwise.evidence import ElectronicReading, Evidence, PointTrial
from lengthwise.reconciliation.apex import film_apex_mm
from lengthwise.reconciliation.trace_quality import assess_trace
from lengthwise.reference import points as p
from lengthwise.reference.tables import canal_length

LONG_S = 2.0
"""Points held longer than this (s) are marked by creeping as much as by where they met liquid."""


@dataclass(frozen=True)
class Belief:
    """Where a belief puts the foramen (mm); None where it does not speak of a case."""

    foramen_mm: Callable[[Evidence], float | None]
    words: str
    """What it goes by, in words."""


def implied_lengths_mm(evidence: Evidence) -> dict[str, float]:
    """The foramen (mm) by each source taken at its word, as somebody would who trusts it.

    Radiographs: the radiographic apex. Readings: the foramen signal. Points: the longest dry.
    Stops: the stop. The mean of these is what an averager works with.
    """
    values: dict[str, list[float]] = {}
    for record in evidence.records:
        if isinstance(record, ElectronicReading):
            signal = record.foramen_signal_mm
            if record.time_s is not None:
                signal = assess_trace(record).signal_mm
            if signal is not None:
                values.setdefault(record.kind, []).append(signal + record.offset_mm)
        elif isinstance(record, PointTrial):
            if record.wet_mm == 0:
                values.setdefault(record.kind, []).append(record.length_mm + record.offset_mm)
        elif record.kind == "tactile_stop":
            values.setdefault(record.kind, []).append(record.length_mm + record.offset_mm)
        else:
            values.setdefault(record.kind, []).append(film_apex_mm(record)[0])
    longest_dry = values.pop("point_trial", None)
    means = {kind: float(np.mean(lengths)) for kind, lengths in values.items()}
    if longest_dry is not None:
        means["point_trial"] = max(longest_dry)
    return means


def believed_foramen_mm(misconception: str, evidence: Evidence) -> float | None:
    """Where the belief puts the foramen (mm); None where it does not speak of this case."""
    belief = BELIEFS.get(misconception)
    return None if belief is None else belief.foramen_mm(evidence)


def points_of(evidence: Evidence) -> list[PointTrial]:
    """The points that were tried, in order."""
    return [each for each in evidence.records if isinstance(each, PointTrial)]


def _mark_ends_mm(trials: Sequence[PointTrial]) -> list[float]:
    return [each.length_mm + each.offset_mm - each.wet_mm for each in trials if each.wet_mm > 0]


def _by_reading(evidence: Evidence) -> float | None:
    return implied_lengths_mm(evidence).get("electronic_reading")


def _by_root_end(evidence: Evidence) -> float | None:
    implied = implied_lengths_mm(evidence)
    return implied.get("working_film", implied.get("preoperative_film"))


def _by_average(evidence: Evidence) -> float:
    return canal_length(evidence.tooth, evidence.canal).mean_mm


def _by_first_wet(evidence: Evidence) -> float | None:
    wet = (each.length_mm + each.offset_mm for each in points_of(evidence) if each.wet_mm > 0)
    return min(wet, default=None)


def _by_long_contact(evidence: Evidence) -> float | None:
    ends = _mark_ends_mm([each for each in points_of(evidence) if each.contact_s > LONG_S])
    return float(np.mean(ends)) if ends else None


def _by_mean_of_drifting(evidence: Evidence) -> float | None:
    ends = _mark_ends_mm(points_of(evidence))
    drifts = len(ends) > 1 and ends[-1] - ends[0] >= p.DRIFT_SUSPECT_MM.value
    return float(np.mean(ends)) if drifts else None


def _by_mean(evidence: Evidence) -> float | None:
    implied = list(implied_lengths_mm(evidence).values())
    return float(np.mean(implied)) if implied else None


def _by_steady_reading(evidence: Evidence) -> float | None:
    steady = []
    for each in evidence.records:
        if isinstance(each, ElectronicReading) and each.time_s is not None:
            quality = assess_trace(each)
            if quality.signal_mm is not None and all(sign.holds for sign in quality.signs):
                steady.append(quality.signal_mm + each.offset_mm)
    return float(np.mean(steady)) if steady else None


def _by_last_visit(evidence: Evidence) -> float | None:
    """The length of another reference, as it was written down then."""
    implied = implied_lengths_mm(evidence)
    before = [each for each in evidence.records if each.offset_mm]
    kinds = [each.kind for each in before if each.kind in implied]
    if not kinds:
        return None
    kind = "electronic_reading" if "electronic_reading" in kinds else kinds[-1]
    offset = next(each.offset_mm for each in before if each.kind == kind)
    return implied[kind] - offset


def _by_any_wet(evidence: Evidence) -> float | None:
    """A mark on the side taken for one at the tip."""
    if not any(each.mark_site == "side" for each in points_of(evidence)):
        return None
    return _by_first_wet(evidence)


BELIEFS: dict[str, Belief] = {
    "M1": Belief(_by_reading, "the electronic reading at its word"),
    "M2": Belief(_by_root_end, "the end of the root on the radiograph"),
    "M3": Belief(_by_average, "the average length of this tooth"),
    "M4": Belief(_by_first_wet, "the first wet length"),
    "M5": Belief(_by_long_contact, "the mark of points held for long"),
    "M6": Belief(_by_mean_of_drifting, "the mean of marks that drift"),
    "M7": Belief(_by_mean, "the plain mean of all sources"),
    "M8": Belief(_by_steady_reading, "the steady reading at its word"),
    "M15": Belief(_by_last_visit, "the length from the reference of the first visit"),
    "M16": Belief(_by_any_wet, "a point that was wet on its side"),
}
"""Every belief that leads to a length."""
