"""Students of a7 who do not look into the library: a careful one, and two with a habit.

The careful one does by hand what the lessons teach, with rounded figures, and looks at the tables
only. The habits are those that course_plan names: the mean of all sources, and the longest dry.
"""

from __future__ import annotations

import numpy as np
from lengthwise.evidence import ElectronicReading, Evidence, PointTrial
from lengthwise.marking.beliefs import implied_lengths_mm
from lengthwise.marking.determination import Determination
from lengthwise.marking.graded_case import GradedCase
from lengthwise.reconciliation.trace_quality import assess_trace

# Lessons 02 to 06 in round figures: how far each landmark lies past (+) or short of the foramen,
# and how far each source strays (mm).
LANDMARK_MM = {"film": 0.5, "reading": 0.1, "paper": -0.25}
STRAYS_MM = {"film": 0.6, "reading": 0.5, "paper": 0.35}
CREEPS_MM = 0.3
FAR_MM = 1.0


def careful(case: GradedCase, rng: np.random.Generator) -> Determination:
    """Look at the points, at the trace, at who stands alone; weigh the rest by their spread."""
    evidence = case.evidence
    trials = [one for one in evidence.records if isinstance(one, PointTrial)]
    wet = [one for one in trials if one.wet_mm > 0]
    if any(one.mark_site == "side" for one in trials):
        return Determination(next_step="ask")
    if not wet:
        return Determination(next_step="points")
    ends = np.array([_met_mm(one) for one in wet])
    if ends[-1] - ends[0] > 0.5 and any(one.liquid_in_canal != "dry" for one in trials):
        return Determination(next_step="points")
    longest = max((one.length_mm for one in trials if one.wet_mm == 0), default=ends.mean())
    values = {"paper": 0.7 * float(ends.mean()) + 0.3 * (longest + 0.25)}
    implied = implied_lengths_mm(evidence)
    films = [implied[kind] for kind in ("preoperative_film", "working_film") if kind in implied]
    values["film"] = films[-1] - _shaped_mm(evidence)
    if "electronic_reading" in implied and _steady(evidence):
        values["reading"] = implied["electronic_reading"] - _shaped_mm(evidence)
    values = {one: mm - LANDMARK_MM[one] for one, mm in values.items()}
    values = {one: mm + rng.normal(0, 0.1) for one, mm in values.items()}  # reads as people do
    if "reading" in values:
        others = np.mean([mm for one, mm in values.items() if one != "reading"])
        if abs(values["reading"] - others) > FAR_MM:
            del values["reading"]
    weights = np.array([STRAYS_MM[one] ** -2 for one in values])
    foramen = float(np.average(list(values.values()), weights=weights))
    half = 1.645 * float(weights.sum() ** -0.5)
    length = np.floor((foramen - case.target_mm) * 4) / 4  # the next shorter quarter
    return Determination(foramen, float(length), foramen - half, foramen + half, "confirm")


def averager(case: GradedCase, rng: np.random.Generator) -> Determination:
    """The mean of all sources at their word, and never "not yet"."""
    mean = float(np.mean(list(implied_lengths_mm(case.evidence).values())))
    return Determination(mean, mean - case.target_mm, mean - 0.5, mean + 0.5, "confirm")


def longest_dry(case: GradedCase, rng: np.random.Generator) -> Determination:
    """The longest length at which a point came out dry is the length to be set."""
    trials = [one for one in case.evidence.records if isinstance(one, PointTrial)]
    dry = [one.length_mm + one.offset_mm for one in trials if one.wet_mm == 0]
    length = max(dry, default=min(one.length_mm for one in trials))
    foramen = length + case.target_mm
    return Determination(foramen, length, foramen - 0.5, foramen + 0.5, "confirm")


def longest_dry_less_target(case: GradedCase, rng: np.random.Generator) -> Determination:
    """The same, less the school's target: the more cautious habit."""
    plain = longest_dry(case, rng)
    length = plain.working_length_mm or 0.0
    return Determination(length, length - case.target_mm, length - 0.5, length + 0.5, "confirm")


def _met_mm(trial: PointTrial) -> float:
    return trial.length_mm + trial.offset_mm - trial.wet_mm + CREEPS_MM * trial.contact_s**0.5


def _shaped_mm(evidence: Evidence) -> float:
    """What shaping takes off a length from before it."""
    shaped = any(one.stage == "after_shaping" for one in evidence.records)
    return 0.2 if shaped else 0.0


def _steady(evidence: Evidence) -> bool:
    traces = [one for one in evidence.records if isinstance(one, ElectronicReading)]
    return all(sign.holds for one in traces for sign in assess_trace(one).signs)
