"""One canal at the chair: radiographs, a reading, points, each at its stage of the treatment.

Everything comes out of the bench; a canal loses length when it is flared and when it is shaped.
Readings are drawn for many canals at once, which is much faster than one by one.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canal, Canals, draw_canals
from lengthwise.anatomy.teeth import outline
from lengthwise.bench.canal_space import NOWHERE_MM
from lengthwise.bench.canal_state import CanalState, draw_state
from lengthwise.bench.film_landmarks import project_landmarks, read_film
from lengthwise.bench.film_setup import Technique, set_up
from lengthwise.bench.meter import Traces, draw_traces
from lengthwise.bench.meter_conditions import (
    ReadingConditions,
    as_written_down,
    draw_conditions,
)
from lengthwise.evidence import ElectronicReading, PointTrial, PreoperativeFilm, WorkingFilm
from lengthwise.evidence.case import CanalName
from lengthwise.reconciliation.trace_quality import TraceQuality, assess_trace

from .point_sittings import BEYOND_MM, ORDINARY_MM, STEP_MM, estimated_mm, try_points

Generator = np.random.Generator
Floats = npt.NDArray[np.float64]

FILE_SIZE = 15
"""Of the file on the meter and on the radiograph."""

MOIST_MM, MOIST_OHM_M = (0.8, 2.5), (0.06, 0.25)
LOOSE_BELOW_MM, LOOSE = 2.0, (0.5, 3.0)
"""What disturbs a reading, from slight to bad; the meter shows what comes of it."""


@dataclass(frozen=True)
class Place:
    """A canal of a tooth, what it is measured from, and whether a nerve or the sinus is near."""

    fdi: str
    canal: CanalName
    reference: str
    near_nerve_or_sinus: bool = False


@dataclass(frozen=True)
class Chair:
    """One patient: the canal as it grew, flared and shaped, and a reading in the flared one."""

    place: Place
    grown: Canal
    reading: ElectronicReading

    @cached_property
    def flared(self) -> Canal:
        """After access and coronal flare."""
        return shorter(self.grown, self.grown.shortening_flare_mm)

    @cached_property
    def shaped(self) -> Canal:
        """As it is when points are tried: the canal that is to be determined."""
        return shorter(self.flared, self.flared.shortening_shaping_mm)

    @cached_property
    def quality(self) -> TraceQuality:
        """What the reading's trace shows."""
        return assess_trace(self.reading)

    def before(self, rng: Generator, technique: Technique = "paralleling") -> PreoperativeFilm:
        """The radiograph before treatment."""
        read = self._read(self.grown, technique, None, rng)
        return PreoperativeFilm(tooth_length_mm=round(read["tooth"], 1), technique=technique)

    def with_file(self, first: PreoperativeFilm, rng: Generator) -> WorkingFilm:
        """A radiograph with a file at the estimated length in the flared canal."""
        file_mm = estimated_mm(first)
        read = self._read(self.flared, "paralleling", file_mm, rng)
        return WorkingFilm(
            file_length_mm=file_mm,
            tip_short_of_radiographic_apex_mm=round(read["gap"], 1),
            technique="paralleling",
            stage="after_flare",
            file_size=FILE_SIZE,
        )

    def _read(
        self, canal: Canal, technique: Technique, file_mm: float | None, rng: Generator
    ) -> dict[str, float]:
        outside = outline(canal.fdi, canal.canal)
        return read_film(
            project_landmarks(canal, outside, set_up(canal, technique).view, file_mm), rng
        )

    def dried(self, rng: Generator) -> CanalState:
        """The shaped canal after it was dried, with nothing wrong in it."""
        return replace(
            draw_state(self.shaped, rng),
            cause="none",
            remnant_mm=0.0,
            block_mm=NOWHERE_MM,
            lateral_mm=None,
            pool_ul=0.0,
            seep_ul_per_s=0.0,
            bleeding="none",
            wall_moisture=0.0,
            irrigant="none",
            liquid_in_canal="dry",
        )


def draw_chairs(place: Place, n: int, trouble: str, rng: Generator) -> list[Chair]:
    """Those of n canals whose length is ordinary, each read once in this trouble.

    Examples
    --------
    >>> place = Place("13", "single", "cusp tip")
    >>> chairs = draw_chairs(place, 3, "none", np.random.default_rng(1))
    >>> len(chairs) <= 3, chairs[0].reading.stage
    (True, 'after_flare')
    """
    grown = draw_canals(place.fdi, n, rng, canal=place.canal)
    low, high = ORDINARY_MM
    grown = grown.some(np.flatnonzero((grown.foramen_mm >= low) & (grown.foramen_mm <= high)))
    if not len(grown):
        return []
    flared = _shorter(grown, grown.shortening_flare_mm)
    conditions = _conditions(trouble, len(grown), rng)
    drawn = draw_traces(flared, rng, conditions=conditions, file_size=FILE_SIZE)
    shown = Traces(*(np.round(part, 2) for part in vars(drawn).values()))
    liquids = as_written_down(conditions, flared.foramen_mm - flared.cej_mm)
    return [
        Chair(
            place,
            grown.one(i),
            shown.record(i, stage="after_flare", file_size=FILE_SIZE, liquid_in_canal=liquids[i]),
        )
        for i in range(len(grown))
    ]


def _conditions(trouble: str, n: int, rng: Generator) -> ReadingConditions:
    """A full canal, a dry crown, no metal, nothing loose; and then the trouble."""

    def between(ends: tuple[float, float]) -> Floats:
        low, high = np.log(ends)
        return np.exp(rng.uniform(low, high, n))

    calm = replace(
        draw_conditions(n, rng),
        level_mm=np.full(n, np.inf),
        touches_per_s=np.zeros(n),
        loses_per_s=np.zeros(n),
        leak_ohm=np.full(n, np.inf),
        flooded_ohm=np.full(n, np.inf),
    )
    if trouble == "loose":
        return replace(calm, level_mm=rng.uniform(0, LOOSE_BELOW_MM, n), swing=between(LOOSE))
    if trouble == "bloody and loose":
        low = rng.uniform(0, LOOSE_BELOW_MM, n)
        return replace(calm, level_mm=low, swing=between(LOOSE), blood_share=np.ones(n))
    if trouble == "moist":
        level, liquid = between(MOIST_MM), between(MOIST_OHM_M)
        return replace(calm, level_mm=level, irrigant_ohm_m=liquid, blood_share=np.zeros(n))
    return calm


def shorter(canal: Canal, by_mm: float) -> Canal:
    """The canal with its reference point or its path this much (mm) closer to the end."""
    return replace(canal, **{name: getattr(canal, name) - by_mm for name in _LENGTHS})


def _shorter(canals: Canals, by_mm: Floats) -> Canals:
    return replace(canals, **{name: getattr(canals, name) - by_mm for name in _LENGTHS})


_LENGTHS = ("apex_mm", "foramen_mm", "constriction_mm", "cej_mm")


def points(
    state: CanalState,
    film: PreoperativeFilm | WorkingFilm,
    number: int,
    rng: Generator,
    *,
    hold_s: float = 1.0,
) -> tuple[PointTrial, ...]:
    """Points by the procedure from a length that a radiograph suggests, each held for `hold_s`."""
    estimated = estimated_mm(film)
    first, last = estimated - STEP_MM, estimated + BEYOND_MM
    return try_points(state, first, last, number, rng, contact_s=hold_s)[1]
