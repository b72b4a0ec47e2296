"""The sitting behind a drawn measurement, and the points that are tried in it.

What the points of one drying attempt share is drawn once: how high liquid stands, how much it falls
with every wet point, how much paper takes up from it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lengthwise.evidence import Record
from lengthwise.physics.wicking import entrance_limited_mm_and_slope, washburn_mm_and_slope
from lengthwise.reference import constants as c

from .paper_pools import DRIFTS_MM, HIGHEST_POOL_MM
from .paper_trials import false_dry_chance, felt_chance
from .plan import Step, blank

Generator = np.random.Generator

MOST_POINTS = 12
"""A staircase that has not turned after this many points is given up."""


@dataclass(frozen=True)
class Flaw:
    """What the records of an unsound source share.

    Attributes
    ----------
    early_mm : how early they come; for points, the height of the liquid before the first.
    drift_mm : how much every wet point lowers the liquid.
    uptake_mm : what all points take up from it; None where each takes up its own.
    """

    early_mm: float = 0.0
    drift_mm: float = 0.0
    uptake_mm: float | None = None


def draw_pool(state: str, rng: Generator) -> Flaw:
    """Liquid above the foramen that is draining, or steady."""
    height = below(lambda: rng.exponential(c.POOL_HEIGHT_MEAN_MM.value), HIGHEST_POOL_MM)
    if state == "draining":
        return Flaw(height, DRIFTS_MM[rng.integers(len(DRIFTS_MM))])
    return Flaw(height, 0.0, _uptake_mm(rng))


def _uptake_mm(rng: Generator) -> float:
    return rng.normal(c.POOL_UPTAKE_MEAN_MM.value, c.POOL_UPTAKE_SD_MM.value)


@dataclass(frozen=True)
class Truth:
    """Everything about a canal that nobody sees. Lengths in mm at the latest stage.

    Attributes
    ----------
    foramen_mm, apex_mm : distance of foramen and radiographic apex from the reference.
    paper_mm, signal_mm : where paper meets tissue, and where a sound reading gives its signal.
    k_mm_per_sqrt_s, entrance_limited : the wicking constant, and which law holds.
    shortening_z : how this canal's shortening compares with others, in standard deviations.
    film_bias_z : the same for the bias of its films with a file.
    """

    foramen_mm: float
    apex_mm: float
    paper_mm: float
    signal_mm: float
    k_mm_per_sqrt_s: float
    entrance_limited: bool
    shortening_z: float
    film_bias_z: float


@dataclass(frozen=True)
class Sitting:
    """A step about to be taken: in what state its source is, and what has been learned so far.

    `wet_before` counts the points that came out wet in earlier steps of the same attempt.
    """

    step: Step
    truth: Truth
    state: str
    flaw: Flaw
    longer_mm: float
    estimate_mm: float
    wet_before: int


def points(now: Sitting, rng: Generator) -> list[Record]:
    """A staircase of half millimetres until dry turns wet (or wet dry), then the repeats."""
    lengths: list[float] = []
    marks: list[float] = []
    ran: list[bool | None] = []

    def try_at(length_mm: float) -> None:
        wet_before = now.wet_before + sum(mark > 0 for mark in marks)
        lengths.append(length_mm)
        ran.append(_ran_freely(now, rng))
        marks.append(_mark_mm(now, length_mm, wet_before, ran[-1], rng))

    try_at(settable(now.estimate_mm - 0.5))
    while len(marks) < MOST_POINTS:
        following = lengths[-1] + (-0.5 if marks[-1] > 0 else 0.5)
        if following != possible(following):
            break  # off every tooth: somebody who got this far gives up
        try_at(following)
        if (marks[-1] > 0) != (marks[-2] > 0):
            break
    first_wet = min(
        (length for length, mark in zip(lengths, marks, strict=True) if mark > 0),
        default=lengths[-1],
    )
    for _ in range(now.step.repeats):
        try_at(first_wet)
    return [
        blank(now.step, length, min(mark, length), ran_freely=freely)
        for length, mark, freely in zip(lengths, marks, ran, strict=True)
    ]


def _ran_freely(now: Sitting, rng: Generator) -> bool | None:
    """Whether a point was felt to run freely, where that is written down."""
    if not now.step.run_recorded:
        return None
    return bool(rng.random() >= felt_chance(now.state == "bound"))


def _mark_mm(
    now: Sitting, length_mm: float, wet_before: int, ran_freely: bool | None, rng: Generator
) -> float:
    """Length of the mark (mm) on a point set to `length_mm`; 0 when it comes out dry."""
    if now.state == "flooded":
        stays_dry = rng.random() < false_dry_chance(ran_freely)
        return 0.0 if stays_dry else rng.uniform(0.0, length_mm)
    scatter = c.POOL_SCATTER_SD_MM.value if now.state == "draining" else 0.0
    placement = rng.normal(0, np.hypot(c.PLACEMENT_SD_MM.value, scatter))
    level_mm = max(now.flaw.early_mm - now.flaw.drift_mm * wet_before, 0.0)
    beyond = length_mm + placement - (now.truth.paper_mm + now.longer_mm - level_mm)
    stuck = now.state == "bound" and rng.random() < c.BOUND_DRY.value
    if stuck or beyond <= 0 or rng.random() < false_dry_chance(ran_freely):
        return 0.0
    # a mark that would come out shorter than a twentieth of a millimetre is still seen as wet
    return max(float(beyond + _above_mm(now, rng)), 0.05)


def _above_mm(now: Sitting, rng: Generator) -> float:
    """What is wet above the liquid's surface (mm), as it is read."""
    reading_sd = c.MARK_READING_SD_MM.value
    if now.state == "draining":
        return rng.normal(_uptake_mm(rng), reading_sd)
    if now.flaw.uptake_mm is not None:
        return rng.normal(now.flaw.uptake_mm, reading_sd)
    k, contact = now.truth.k_mm_per_sqrt_s, now.step.contact_s
    wicked, slope = washburn_mm_and_slope(contact, k_mm_per_sqrt_s=k)
    if now.truth.entrance_limited:
        wicked, slope = entrance_limited_mm_and_slope(
            contact, k_mm_per_sqrt_s=k, entrance_length_mm=c.ENTRANCE_LENGTH_MM.value
        )
    return float(rng.normal(wicked, np.hypot(reading_sd, slope * c.CONTACT_TIME_RELATIVE_SD.value)))


def settable(length_mm: float) -> float:
    """The nearest half millimetre that a record accepts."""
    return possible(round(length_mm * 2) / 2)


def possible(length_mm: float) -> float:
    """Inside what a record accepts: a measurement off every tooth is written as the limit."""
    return min(max(length_mm, 5.0), 45.0)


def below(draw: Callable[[], float], limit: float) -> float:
    """A draw that is not above the limit."""
    value = draw()
    while value > limit:
        value = draw()
    return float(value)
