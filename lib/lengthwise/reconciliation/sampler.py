"""Cases drawn from the model itself: a truth, the state of every source, and the evidence.

It draws every latent that `posterior` integrates out, from the same distributions, so that the
posterior of such a case is exactly right if the code is. Where a length to try is chosen (a
file, a first point), it is chosen from earlier evidence only: a choice that knew the truth would
tell it.
"""

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
    PointTrial,
    PreoperativeFilm,
    Record,
    WorkingFilm,
)
from lengthwise.reference import constants as c
from lengthwise.reference import readings

from .apex import BIAS_NODES, BIAS_WEIGHTS, film_bias_mm, film_scale, gap_sd_mm
from .circumstances import circumstances_of
from .plan import Plan, as_evidence, blank, skeleton
from .posterior import shortening_mm
from .sitting import Flaw, Sitting, Truth, below, draw_pool, points, possible, settable
from .sources import AVERAGE, Source, latest_stage, sources_of

__all__ = [
    "Generator",
    "Key",
    "States",
    "Truth",
    "draw_case",
    "draw_evidence",
    "draw_flaw",
    "draw_state",
    "draw_states",
    "draw_truth",
    "key_of",
]

Generator = np.random.Generator
Key = tuple[str, int | None, str | None, str]
"""A source by kind, visit, stage and circumstances."""

States = dict[Key, str]
"""State of each source: sound, or what is wrong with it."""


def draw_case(plan: Plan, rng: Generator) -> tuple[Evidence, Truth]:
    """A case by a plan, all its latents drawn from the model.

    >>> from lengthwise.reconciliation.plan import Step
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
        apex = low + (high - low) * rng.beta(a, b) - rng.uniform(*average.lowered_mm)
    else:
        apex = rng.uniform(c.LENGTH_LOW_MM.value, c.LENGTH_HIGH_MM.value)
    shape, scale = apex_gamma(plan.tooth)
    foramen = apex - below(lambda: rng.gamma(shape, scale), FURTHEST_APEX_MM)
    diameter = c.FORAMEN_DIAMETER_MM.value * np.exp(rng.normal(0, c.FORAMEN_DIAMETER_LOG_SD.value))
    angle_deg = min(abs(rng.normal(0, c.FORAMEN_ANGLE_SD_DEG.value)), STEEPEST_FORAMEN_DEG)
    rim = diameter * np.tan(np.radians(angle_deg)) / 2 + c.MENISCUS_MM.value
    wider = diameter - readings.CALIBRATION_DIAMETER_MM.value
    k = c.PAPER_K_MM_PER_SQRT_S.value
    return Truth(
        foramen_mm=foramen,
        apex_mm=apex,
        paper_mm=foramen - rim + rng.normal(0, c.PAPER_BETWEEN_CANALS_SD_MM.value),
        signal_mm=foramen
        + readings.LATE_MM.value
        - readings.SHORT_PER_MM_WIDER.value * wider
        + rng.normal(0, readings.BETWEEN_CANALS_SD_MM.value),
        k_mm_per_sqrt_s=k * (1 + c.PAPER_K_RELATIVE_SD.value * rng.normal()),
        entrance_limited=rng.random() < c.ENTRANCE_LAW_PROBABILITY.value,
        shortening_z=rng.normal(),
        film_bias_z=float(rng.choice(BIAS_NODES, p=BIAS_WEIGHTS)),
    )


def draw_states(plan: Plan, rng: Generator) -> States:
    """For each source whether it is sound, and if not, in which way."""
    return {key_of(s): draw_state(s, rng) for s in sources_of(skeleton(plan)) if s.kind != AVERAGE}


def key_of(source: Source) -> Key:
    """Kind, visit, stage and circumstances of a source."""
    return source.kind, source.visit, source.stage, source.circumstances


def draw_state(source: Source, rng: Generator) -> str:
    """Whether a source is sound, and if not, in which way."""
    if rng.random() < source.trust:
        return "sound"
    if source.kind == "point_trial":
        shares = {"bound": c.BOUND_SHARE, "steady": c.STEADY_SHARE, "flooded": c.FLOODED_SHARE}
        chance = rng.random()
        for state, share in shares.items():
            chance -= share.value
            if chance < 0:
                return state
        return "draining"
    if source.kind == "electronic_reading":
        return "early" if rng.random() < readings.STABLE_SHORT_SHARE.value else "erratic"
    return "caught" if source.kind == "tactile_stop" else "misread"


def draw_evidence(plan: Plan, truth: Truth, states: States, rng: Generator) -> Evidence:
    """What the plan's steps find in this canal, each source being in its state."""
    latest = latest_stage(skeleton(plan).records)
    flaws = {key: draw_flaw(state, rng) for key, state in states.items()}
    low, high, a, b = beta_of(plan.tooth, plan.canal)
    estimate = low + (high - low) * a / (a + b) - 1.0  # the textbook's average, less a millimetre
    special = circumstances_of(skeleton(plan).records)
    records: list[Record] = []
    wet: dict[Key, int] = {}
    for step, words in zip(plan.steps, special, strict=True):
        key = (step.kind, step.visit, step.stage, words)
        longer = shortening_mm(step.stage, latest, truth.shortening_z)
        wet_before = wet.get(key, 0)
        sitting = Sitting(step, truth, states[key], flaws[key], longer, estimate, wet_before)
        taken = _MEASURE[step.kind](sitting, rng)
        wet[key] = wet_before + sum(isinstance(r, PointTrial) and r.wet_mm > 0 for r in taken)
        records.extend(taken)
        estimate = _estimate_mm(records[-1], estimate)
    return as_evidence(plan, tuple(records))


def draw_flaw(state: str, rng: Generator) -> Flaw:
    """What the records of a source in this state share."""
    if state in ("draining", "steady"):
        return draw_pool(state, rng)
    mean = {"early": readings.EARLY_MEAN_MM.value, "caught": c.STOP_EARLY_MEAN_MM.value}
    return Flaw(rng.exponential(mean[state]) if state in mean else 0.0)


def _preoperative_films(now: Sitting, rng: Generator) -> list[Record]:
    reader_sd, magnification, magnification_sd = film_scale(now.step.technique)
    apex = now.truth.apex_mm + now.longer_mm
    sd = float(np.hypot(reader_sd, apex * magnification_sd / magnification)) * _widening(now)
    seen = apex + rng.normal(0, sd, now.step.repeats)
    return [blank(now.step, possible(length * magnification)) for length in seen]


def _working_films(now: Sitting, rng: Generator) -> list[Record]:
    magnification = film_scale(now.step.technique)[1]
    bias, doubt = film_bias_mm(now.step.technique)
    file_mm = settable(now.estimate_mm)
    gap = now.truth.apex_mm + now.longer_mm - file_mm + bias + now.truth.film_bias_z * doubt
    sd = gap_sd_mm(gap, now.step.technique) * _widening(now)
    seen = magnification * (gap + rng.normal(0, sd, now.step.repeats))
    return [blank(now.step, file_mm, float(np.clip(each, -15.0, 25.0))) for each in seen]


def _widening(now: Sitting) -> float:
    return c.FILM_UNSOUND_WIDENING.value if now.state == "misread" else 1.0


def _signals(now: Sitting, rng: Generator) -> list[Record]:
    sd = readings.REPEAT_SD_MM.value
    if now.state == "erratic":
        sd = float(np.hypot(sd, readings.ERRATIC_SD_MM.value))
    seen = (
        now.truth.signal_mm
        + now.longer_mm
        - now.flaw.early_mm
        + rng.normal(0, sd, now.step.repeats)
    )
    return [blank(now.step, possible(depth)) for depth in seen]


def _stops(now: Sitting, rng: Generator) -> list[Record]:
    stop = (
        now.truth.foramen_mm + now.longer_mm - c.STOP_SHORT_OF_FORAMEN_MM.value - now.flaw.early_mm
    )
    felt = possible(stop + rng.normal(0, c.STOP_SD_MM.value))
    return [blank(now.step, felt) for _ in range(now.step.repeats)]


_MEASURE = {
    "preoperative_film": _preoperative_films,
    "working_film": _working_films,
    "electronic_reading": _signals,
    "point_trial": points,
    "tactile_stop": _stops,
}


def _estimate_mm(record: Record, before_mm: float) -> float:
    """The estimated working length after a record, by the textbook's rule for its kind."""
    if isinstance(record, PreoperativeFilm):
        return record.tooth_length_mm / film_scale(record.technique)[1] - 1.0
    if isinstance(record, WorkingFilm):
        return record.file_length_mm + record.tip_short_of_radiographic_apex_mm - 1.0
    if isinstance(record, ElectronicReading) and record.foramen_signal_mm is not None:
        return record.foramen_signal_mm - 0.5
    return before_mm
