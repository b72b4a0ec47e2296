"""Cases drawn from the model itself: a truth, the state of every source, and the evidence.

It draws every latent that `posterior` integrates out, from the same distributions, so that the
posterior of such a case is exactly right if the code is. Where a length to try is chosen (a
file, a first point), it is chosen from earlier evidence only: a choice that knew the truth would
tell it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lengthwise.anatomy.lengths import (
    FURTHEST_APEX_MM,
    STEEPEST_FORAMEN_DEG,
    apex_gamma,
    beta_of,
)
from lengthwise.evidence import (
    ElectronicReading,
    Evidence,
    PreoperativeFilm,
    Record,
    WorkingFilm,
)
from lengthwise.physics.wicking import entrance_limited_length_mm, washburn_length_mm
from lengthwise.reference import constants as c

from .apex import film_scale
from .paper import HIGHEST_POOL_MM, false_dry_chance
from .plan import Plan, Step, as_evidence, blank, skeleton
from .posterior import shortening_mm
from .sources import AVERAGE, Source, latest_stage, sources_of

Generator = np.random.Generator
States = dict[tuple[str, int | None, str | None], str]
"""State of each source by (kind, visit, stage): sound, or what is wrong with it."""

MOST_POINTS = 12
"""A staircase that has not turned after this many points is given up."""


@dataclass(frozen=True)
class Truth:
    """Everything about a canal that nobody sees. Lengths in mm at the latest stage.

    Attributes
    ----------
    foramen_mm, apex_mm : distance of foramen and radiographic apex from the reference.
    paper_mm, signal_mm : where paper meets tissue, and where a sound reading gives its signal.
    k_mm_per_sqrt_s, entrance_limited : the wicking constant, and which law holds.
    shortening_z : how this canal's shortening compares with others, in standard deviations.
    """

    foramen_mm: float
    apex_mm: float
    paper_mm: float
    signal_mm: float
    k_mm_per_sqrt_s: float
    entrance_limited: bool
    shortening_z: float


def draw_case(plan: Plan, rng: Generator) -> tuple[Evidence, Truth]:
    """A case by a plan, all its latents drawn from the model.

    >>> plan = Plan("13", "single", (Step("working_film"), Step("electronic_reading", repeats=2)))
    >>> evidence, truth = draw_case(plan, np.random.default_rng(1))
    >>> len(evidence.records)
    3
    """
    truth = draw_truth(plan, rng)
    return draw_evidence(plan, truth, draw_states(plan, rng), rng), truth


def draw_truth(plan: Plan, rng: Generator) -> Truth:
    """A canal of this tooth."""
    (average,) = (s for s in sources_of(skeleton(plan)) if s.kind == AVERAGE)
    low, high, a, b = beta_of(plan.tooth, plan.canal)
    if rng.random() < average.trust:
        apex = low + (high - low) * rng.beta(a, b)
    else:
        apex = rng.uniform(c.LENGTH_LOW_MM.value, c.LENGTH_HIGH_MM.value)
    shape, scale = apex_gamma(plan.tooth)
    foramen = apex - _below(lambda: rng.gamma(shape, scale), FURTHEST_APEX_MM)
    diameter = c.FORAMEN_DIAMETER_MM.value * np.exp(rng.normal(0, c.FORAMEN_DIAMETER_LOG_SD.value))
    angle_deg = min(abs(rng.normal(0, c.FORAMEN_ANGLE_SD_DEG.value)), STEEPEST_FORAMEN_DEG)
    rim = diameter * np.tan(np.radians(angle_deg)) / 2 + c.MENISCUS_MM.value
    wider = diameter - c.READING_CALIBRATION_DIAMETER_MM.value
    k = c.PAPER_K_MM_PER_SQRT_S.value
    return Truth(
        foramen_mm=foramen,
        apex_mm=apex,
        paper_mm=foramen - rim + rng.normal(0, c.PAPER_BETWEEN_CANALS_SD_MM.value),
        signal_mm=foramen
        - c.READING_SHORT_PER_MM_WIDER.value * wider
        + rng.normal(0, c.READING_BETWEEN_CANALS_SD_MM.value),
        k_mm_per_sqrt_s=k * (1 + c.PAPER_K_RELATIVE_SD.value * rng.normal()),
        entrance_limited=rng.random() < c.ENTRANCE_LAW_PROBABILITY.value,
        shortening_z=rng.normal(),
    )


def draw_states(plan: Plan, rng: Generator) -> States:
    """For each source whether it is sound, and if not, in which way."""
    return {key_of(s): _state(s, rng) for s in sources_of(skeleton(plan)) if s.kind != AVERAGE}


def key_of(source: Source) -> tuple[str, int | None, str | None]:
    """Kind, visit and stage of a source."""
    return source.kind, source.visit, source.stage


def _state(source: Source, rng: Generator) -> str:
    if rng.random() < source.trust:
        return "sound"
    if source.kind == "point_trial":
        return "bound" if rng.random() < c.BOUND_SHARE.value else "pooled"
    if source.kind == "electronic_reading":
        return "early" if rng.random() < c.READING_STABLE_SHORT_SHARE.value else "erratic"
    return "caught" if source.kind == "tactile_stop" else "misread"


def draw_evidence(plan: Plan, truth: Truth, states: States, rng: Generator) -> Evidence:
    """What the plan's steps find in this canal, each source being in its state."""
    latest = latest_stage(sources_of(skeleton(plan)))
    delays = {key: _delay_mm(state, rng) for key, state in states.items()}
    low, high, a, b = beta_of(plan.tooth, plan.canal)
    estimate = low + (high - low) * a / (a + b) - 1.0  # the textbook's average, less a millimetre
    records: list[Record] = []
    for step in plan.steps:
        key = (step.kind, step.visit, step.stage)
        longer = shortening_mm(step.stage, latest, truth.shortening_z)
        sitting = _Sitting(step, truth, states[key], delays[key], longer, estimate)
        records.extend(_MEASURE[step.kind](sitting, rng))
        estimate = _estimate_mm(records[-1], estimate)
    return as_evidence(plan, tuple(records))


@dataclass(frozen=True)
class _Sitting:
    """A step about to be taken: in what state its source is, and what has been learned so far."""

    step: Step
    truth: Truth
    state: str
    delay_mm: float
    longer_mm: float
    estimate_mm: float


def _delay_mm(state: str, rng: Generator) -> float:
    """What an unsound source's records share: the height of the liquid, how early they come."""
    if state == "pooled":
        return _below(lambda: rng.exponential(c.POOL_HEIGHT_MEAN_MM.value), HIGHEST_POOL_MM)
    if state == "early":
        return rng.exponential(c.READING_EARLY_MEAN_MM.value)
    if state == "caught":
        return rng.exponential(c.STOP_EARLY_MEAN_MM.value)
    return 0.0


def _preoperative_films(now: _Sitting, rng: Generator) -> list[Record]:
    _, reader_sd, magnification, magnification_sd = film_scale(now.step.technique)
    apex = now.truth.apex_mm + now.longer_mm
    sd = float(np.hypot(reader_sd, apex * magnification_sd / magnification)) * _widening(now)
    seen = apex + rng.normal(0, sd, now.step.repeats)
    return [blank(now.step, _possible(length * magnification)) for length in seen]


def _working_films(now: _Sitting, rng: Generator) -> list[Record]:
    bias, reader_sd, magnification, _ = film_scale(now.step.technique)
    file_mm = _settable(now.estimate_mm)
    gap = now.truth.apex_mm + now.longer_mm - file_mm + bias
    seen = magnification * (gap + rng.normal(0, reader_sd * _widening(now), now.step.repeats))
    return [blank(now.step, file_mm, float(np.clip(each, -15.0, 25.0))) for each in seen]


def _widening(now: _Sitting) -> float:
    return c.FILM_UNSOUND_WIDENING.value if now.state == "misread" else 1.0


def _signals(now: _Sitting, rng: Generator) -> list[Record]:
    sd = c.READING_REPEAT_SD_MM.value
    if now.state == "erratic":
        sd = float(np.hypot(sd, c.READING_ERRATIC_SD_MM.value))
    seen = now.truth.signal_mm + now.longer_mm - now.delay_mm + rng.normal(0, sd, now.step.repeats)
    return [blank(now.step, _possible(depth)) for depth in seen]


def _stops(now: _Sitting, rng: Generator) -> list[Record]:
    stop = now.truth.foramen_mm + now.longer_mm - c.STOP_SHORT_OF_FORAMEN_MM.value - now.delay_mm
    felt = _possible(stop + rng.normal(0, c.STOP_SD_MM.value))
    return [blank(now.step, felt) for _ in range(now.step.repeats)]


def _points(now: _Sitting, rng: Generator) -> list[Record]:
    """A staircase of half millimetres until dry turns wet (or wet dry), then the repeats."""
    lengths = [_settable(now.estimate_mm - 0.5)]
    marks = [_mark_mm(now, lengths[0], rng)]
    while len(marks) < MOST_POINTS:
        following = lengths[-1] + (-0.5 if marks[-1] > 0 else 0.5)
        if following != _possible(following):
            break  # off every tooth: somebody who got this far gives up
        lengths.append(following)
        marks.append(_mark_mm(now, lengths[-1], rng))
        if (marks[-1] > 0) != (marks[-2] > 0):
            break
    first_wet = min(
        (length for length, mark in zip(lengths, marks, strict=True) if mark > 0),
        default=lengths[-1],
    )
    for _ in range(now.step.repeats):
        lengths.append(first_wet)
        marks.append(_mark_mm(now, first_wet, rng))
    pairs = zip(lengths, marks, strict=True)
    return [blank(now.step, length, min(mark, length)) for length, mark in pairs]


def _mark_mm(now: _Sitting, length_mm: float, rng: Generator) -> float:
    """Length of the mark (mm) on a point set to `length_mm`; 0 when it comes out dry."""
    scatter = c.POOL_SCATTER_SD_MM.value if now.state == "pooled" else 0.0
    placement = rng.normal(0, np.hypot(c.PLACEMENT_SD_MM.value, scatter))
    meets_liquid_mm = now.truth.paper_mm + now.longer_mm - now.delay_mm
    beyond = length_mm + placement - meets_liquid_mm
    stuck = now.state == "bound" and rng.random() < c.BOUND_DRY.value
    if stuck or beyond <= 0 or rng.random() < false_dry_chance(now.step.ran_freely):
        return 0.0
    k, contact = now.truth.k_mm_per_sqrt_s, now.step.contact_s
    if now.truth.entrance_limited:
        wicked, slope = entrance_limited_length_mm(
            contact, k_mm_per_sqrt_s=k, entrance_length_mm=c.ENTRANCE_LENGTH_MM.value
        )
    else:
        wicked, slope = washburn_length_mm(contact, k_mm_per_sqrt_s=k)
    sd = np.hypot(c.MARK_READING_SD_MM.value, slope * c.CONTACT_TIME_RELATIVE_SD.value)
    # a mark that would come out shorter than a twentieth of a millimetre is still seen as wet
    return max(float(beyond + wicked + rng.normal(0, sd)), 0.05)


_MEASURE = {
    "preoperative_film": _preoperative_films,
    "working_film": _working_films,
    "electronic_reading": _signals,
    "point_trial": _points,
    "tactile_stop": _stops,
}


def _estimate_mm(record: Record, before_mm: float) -> float:
    """The estimated working length after a record, by the textbook's rule for its kind."""
    if isinstance(record, PreoperativeFilm):
        return record.tooth_length_mm / film_scale(record.technique)[2] - 1.0
    if isinstance(record, WorkingFilm):
        return record.file_length_mm + record.tip_short_of_radiographic_apex_mm - 1.0
    if isinstance(record, ElectronicReading) and record.foramen_signal_mm is not None:
        return record.foramen_signal_mm - 0.5
    return before_mm


def _settable(length_mm: float) -> float:
    return _possible(round(length_mm * 2) / 2)


def _possible(length_mm: float) -> float:
    """Inside what a record accepts: a measurement off every tooth is written as the limit."""
    return min(max(length_mm, 5.0), 45.0)


def _below(draw: Callable[[], float], limit: float) -> float:
    value = draw()
    while value > limit:
        value = draw()
    return float(value)
