"""Which mistaken belief an answer looks like. A likeness, never an accusation.

Identifiers are those of the course's list of misconceptions.
"""

from dataclasses import dataclass

import numpy as np

from lengthwise.evidence import ElectronicReading, Evidence, PointTrial
from lengthwise.reconciliation import Reconciliation
from lengthwise.reconciliation.apex import film_apex_mm
from lengthwise.reconciliation.next_step import UNSAFE_STEPS
from lengthwise.reconciliation.trace_quality import assess_trace

from .determination import Determination
from .point_words import AGAIN_FIRST_WET, AGAIN_LONG_CONTACT, AGAIN_STILL_SHORT

ALIKE_MM = 0.2
"""A length this close to what a belief leads to looks like it; stops are set to 0.25 mm."""

APART_MM = 0.4
"""A length this close to the recommendation needs no explanation."""

TOO_NARROW = 0.5
"""An interval narrower than this part of the best one claims too much."""


LONG_S = 2.0
"""Points held longer than this (s) are marked by creeping as much as by where they met liquid."""


@dataclass(frozen=True)
class Belief:
    """A belief that an answer looks like, and what to look at again."""

    misconception: str
    sentence: str


def beliefs_behind(
    determination: Determination, result: Reconciliation, target_mm: float
) -> tuple[Belief, ...]:
    """The beliefs that a determination looks like; empty for a careful one."""
    found: list[Belief] = []
    length, recommended = determination.working_length_mm, result.best_length_mm
    takes_length = result.working_length_mm is not None
    if determination.next_step in UNSAFE_STEPS:
        found.append(_STILL_SHORT)
    if length is not None and abs(length - recommended) > APART_MM:
        for foramen_mm, belief in _what_beliefs_lead_to(result.evidence):
            if foramen_mm is not None and abs(length + target_mm - foramen_mm) <= ALIKE_MM:
                found.append(belief)
        if takes_length and not found and length > recommended:
            found.append(_LONG)
    if takes_length and determination.low_mm is not None and determination.high_mm is not None:
        low, high = result.interval_mm()
        if determination.high_mm - determination.low_mm < TOO_NARROW * (high - low):
            found.append(_NARROW)
    return tuple(found)


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


def _what_beliefs_lead_to(evidence: Evidence) -> list[tuple[float | None, Belief]]:
    implied = implied_lengths_mm(evidence)
    films = [implied[kind] for kind in ("working_film", "preoperative_film") if kind in implied]
    mean = float(np.mean(list(implied.values()))) if implied else None
    wet = [each for each in evidence.records if isinstance(each, PointTrial) and each.wet_mm > 0]
    ends = [
        each.length_mm + each.offset_mm - each.wet_mm for each in wet if each.contact_s > LONG_S
    ]
    return [
        (min((each.length_mm + each.offset_mm for each in wet), default=None), _FIRST_WET),
        (float(np.mean(ends)) if ends else None, _LONG_CONTACT),
        (implied.get("electronic_reading"), _READING),
        *((film, _APEX) for film in films),
        (mean, _MEAN),
    ]


_READING = Belief(
    "M1",
    "your answers look as if the electronic number were the truth. Look again at what the other "
    "sources say of it, and whether its signal came early (lesson 06, the source that does not "
    "belong).",
)
_APEX = Belief(
    "M2",
    "your answers look as if the end of the root on the radiograph were the foramen. The canal "
    "usually ends short of it, by an amount the image hides (lesson 06, each source on its own "
    "landmark).",
)
_MEAN = Belief(
    "M7",
    "your answers look like the plain mean of all sources. A mean moves towards the odd one out; "
    "weighing moves away from it (lesson 06, drop one source and watch).",
)
_LONG = Belief(
    "M9",
    "your answers look as if a little past were better than the same amount short. Past the "
    "foramen costs more (lesson 06, the part past the foramen).",
)
_NARROW = Belief(
    "M11",
    "your answers look as if a narrow interval showed competence. Right nine times in ten needs "
    "more room here (lesson 06, repeats that do not add what they seem to).",
)
_FIRST_WET = Belief("M4", AGAIN_FIRST_WET)
_LONG_CONTACT = Belief("M5", AGAIN_LONG_CONTACT)
_STILL_SHORT = Belief("M13", AGAIN_STILL_SHORT)
