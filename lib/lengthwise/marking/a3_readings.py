"""Readings for the questions of a3: drawn on the bench, and judged by their traces.

Canals are read undisturbed first. Those that read soundly are read once more, each in several
troubles that are seen beside the trace. How bad a trouble is lies on a continuum, and what it does
to the trace comes out of the physics; what is undone by taking the trouble away is known.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canals, draw_canals
from lengthwise.bench.meter import Meter, Traces, draw_meters, draw_traces
from lengthwise.bench.meter_conditions import ReadingConditions, draw_conditions
from lengthwise.bench.meter_line import line_shapes
from lengthwise.evidence import ElectronicReading
from lengthwise.physics.impedance import furthest_past_mm
from lengthwise.physics.line import File
from lengthwise.reconciliation.trace_quality import TraceQuality, assess_trace
from lengthwise.reference import electrical as e

from .point_sittings import estimated_mm, film_of, is_ordinary

Generator = np.random.Generator
Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

SIZES = (10, 15, 20, 25, 30, 35, 40)
THIN_BY = 10
"""A file is thin when one this many size numbers thicker would still reach the foramen."""

REACHES_MM = 0.6
"""A file reaches the foramen that goes this far past it before it binds."""

TROUBLES = ("none", "metal", "leak", "flooded", "loose", "moist")
EACH = 9
"""Troubles in which each sound canal is read; which traces are taken is decided by their looks."""

CLEAR_PER_S, CLEAR_OHM = 0.01, 50_000.0
"""Of metal and of leaks that nobody would see; what can be seen lies far from that."""

TOUCHES_PER_S, WET_OHM = (0.15, 1.0), (200.0, 3000.0)
LOOSE, LOOSE_PER_S, LOOSE_BELOW_MM = (0.5, 3.0), (0.2, 0.8), 2.0
MOIST_MM, MOIST_FILM_MM, MOIST_OHM_M, HALF_FULL_MM = (0.8, 1.9), (0.004, 0.015), (0.06, 0.25), 4.0
"""Each trouble from slight to bad. A canal that is half full reads as a full one does."""

USABLE, UNUSABLE = 0.65, 0.35
"""Probabilities beyond which a trace is plainly one or the other."""

NEAR_MM = 0.4
"""A signal within this of the foramen is sound."""


@dataclass(frozen=True)
class Reading:
    """One canal that was read.

    Attributes
    ----------
    canals, conditions, meter : of this one canal, as the bench has them.
    trouble : one of `TROUBLES`.
    size, thickest : size numbers of the file on the meter, and of the thickest that would reach.
    estimated_mm : the estimated working length from a radiograph.
    record, quality : the trace as shown, and what it shows.
    """

    canals: Canals
    conditions: ReadingConditions
    meter: Meter
    trouble: str
    size: int
    thickest: int
    estimated_mm: float
    record: ElectronicReading
    quality: TraceQuality

    @property
    def foramen_mm(self) -> float:
        """Where the canal ends."""
        return float(self.canals.foramen_mm[0])

    @property
    def full(self) -> bool:
        """Whether liquid stands up to the orifice."""
        high = float((self.canals.foramen_mm - self.canals.cej_mm)[0])
        return float(np.asarray(self.conditions.level_mm)[0]) >= high

    @property
    def thin(self) -> bool:
        """Whether a much thicker file would reach."""
        return self.thickest - self.size >= THIN_BY


def draw_readings(fdi: str, n: int, shares: Mapping[str, float], rng: Generator) -> list[Reading]:
    """Draw n canals of a tooth; read those that read soundly, each in `EACH` troubles.

    `shares` says how often each of `TROUBLES` is read, in any unit.

    >>> drawn = draw_readings("13", 12, {"metal": 1, "moist": 2}, np.random.default_rng(1))
    >>> len(drawn) % EACH, {one.trouble for one in drawn} <= {"metal", "moist"}
    (0, True)
    """
    canals, meter = draw_canals(fdi, n, rng), draw_meters(n, rng)
    thickest, drawn = thickest_sizes(canals), draw_conditions(n, rng)
    undisturbed = _undisturbed(drawn)
    ordinary = [is_ordinary(canals.one(i)) and thickest[i] >= SIZES[0] for i in range(n)]
    rows = np.flatnonzero(ordinary)
    before = shown_traces(
        canals.some(rows), meter.some(rows), undisturbed.some(rows), thickest[rows], rng
    )
    near = [is_sound(one, canals.foramen_mm[i]) for i, one in zip(rows, before, strict=True)]
    rows = np.repeat(rows[np.array(near, dtype=np.bool_)], EACH)
    if not rows.size:
        return []
    weights = np.array(list(shares.values()), dtype=np.float64)
    trouble = rng.choice(list(shares), rows.size, p=weights / weights.sum())
    conditions = _with_trouble(undisturbed.some(rows), drawn.some(rows), trouble, rng)
    size = _sizes(thickest[rows], trouble, rng)
    records = shown_traces(canals.some(rows), meter.some(rows), conditions, size, rng)
    estimated = {i: estimated_mm(film_of(canals.one(i), rng)) for i in np.unique(rows)}
    return [
        Reading(
            canals.some(i),
            conditions.some(np.array([k])),
            meter.some(i),
            str(trouble[k]),
            int(size[k]),
            int(thickest[i]),
            estimated[i],
            record,
            assess_trace(record),
        )
        for k, (i, record) in enumerate(zip(rows, records, strict=True))
    ]


def shown_traces(
    canals: Canals,
    meter: Meter,
    conditions: ReadingConditions,
    file_size: Indices,
    rng: Generator,
) -> list[ElectronicReading]:
    """Traces of n canals to hundredths: what is judged is what a student is shown."""
    drawn = draw_traces(canals, rng, conditions=conditions, file_size=file_size, meter=meter)
    shown = Traces(*(np.round(part, 2) for part in vars(drawn).values()))
    return [shown.record(i) for i in range(len(canals))]


def is_sound(record: ElectronicReading, foramen_mm: float) -> bool:
    """Whether a trace can be used, by all signs, and its signal lies close to the foramen."""
    judged = assess_trace(record)
    return (
        judged.usable >= USABLE
        and all(sign.holds for sign in judged.signs)
        and judged.signal_mm is not None
        and abs(judged.signal_mm - foramen_mm) <= NEAR_MM
    )


def thickest_sizes(canals: Canals) -> Indices:
    """The thickest of `SIZES` that reaches each foramen; 0 where none does."""
    shape, thickest = line_shapes(canals, shaped=False), np.zeros(len(canals), dtype=np.intp)
    for size in SIZES:
        file = File(np.full(len(canals), size / 100))
        thickest[furthest_past_mm(shape, file) >= REACHES_MM] = size
    return thickest


def _sizes(
    thickest: Indices, trouble: npt.NDArray[np.str_], rng: Generator
) -> npt.NDArray[np.intp]:
    """The file in hand: mostly the thickest, in a half empty canal often a thinner one."""
    thinner = np.array([rng.choice([s for s in SIZES if s <= most]) for most in thickest])
    emptied = (trouble == "loose") | (trouble == "moist")
    return np.where(rng.random(thickest.size) < np.where(emptied, 0.5, 0.2), thinner, thickest)


def _undisturbed(drawn: ReadingConditions) -> ReadingConditions:
    """A canal full of saline, a dry crown, no metal; patient and file as they were drawn."""
    return replace(
        drawn,
        irrigant_ohm_m=np.full_like(drawn.irrigant_ohm_m, e.SALINE_OHM_M.value),
        blood_share=np.zeros_like(drawn.blood_share),
        level_mm=np.full_like(drawn.level_mm, np.inf),
        touches_per_s=np.minimum(drawn.touches_per_s, CLEAR_PER_S),
        loses_per_s=np.minimum(drawn.loses_per_s, CLEAR_PER_S),
        leak_ohm=np.maximum(drawn.leak_ohm, CLEAR_OHM),
        flooded_ohm=np.maximum(drawn.flooded_ohm, CLEAR_OHM),
    )


def _with_trouble(
    calm: ReadingConditions,
    drawn: ReadingConditions,
    trouble: npt.NDArray[np.str_],
    rng: Generator,
) -> ReadingConditions:
    """The conditions with each canal's trouble; without one, liquids are as drawn, full or half."""
    n, none = len(trouble), trouble == "none"

    def between(ends: tuple[float, float]) -> Floats:
        low, high = (float(np.log(end)) for end in ends)
        return np.asarray(np.exp(rng.uniform(low, high, n)), dtype=np.float64)

    half = np.where(rng.random(n) < 0.5, HALF_FULL_MM + rng.exponential(HALF_FULL_MM, n), np.inf)
    emptied, moist = trouble == "loose", trouble == "moist"
    level = np.where(none, half, calm.level_mm)
    level = np.where(emptied, rng.uniform(0, LOOSE_BELOW_MM, n), level)
    level = np.where(moist, between(MOIST_MM), level)
    return replace(
        calm,
        level_mm=level,
        irrigant_ohm_m=np.where(
            moist, between(MOIST_OHM_M), np.where(none, drawn.irrigant_ohm_m, calm.irrigant_ohm_m)
        ),
        blood_share=np.where(none, drawn.blood_share, calm.blood_share),
        film_mm=np.where(moist, between(MOIST_FILM_MM), calm.film_mm),
        swing=np.where(emptied, between(LOOSE), calm.swing),
        swings_per_s=np.where(emptied, between(LOOSE_PER_S), calm.swings_per_s),
        touches_per_s=np.where(trouble == "metal", between(TOUCHES_PER_S), calm.touches_per_s),
        leak_ohm=np.where(trouble == "leak", between(WET_OHM), calm.leak_ohm),
        flooded_ohm=np.where(trouble == "flooded", between(WET_OHM), calm.flooded_ohm),
    )
