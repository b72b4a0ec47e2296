"""What is taken in the canals of assignment a7: each function gives the case of one sitting."""

from dataclasses import replace
from typing import Literal

from lengthwise.bench.canal_state import CanalState
from lengthwise.evidence import Context, Evidence, Record

from .a7_chair import Chair, Generator, points, shorter

HOLD_S = 5.0
REDUCED_MM = (1.2, 2.0)
BLOCK_MM, SIDE_MM = 1.5, (2.5, 4.0)
LEFT_UL = (0.3, 1.2)
POINTS, WET_POINTS = 5, 6


def everything(chair: Chair, rng: Generator) -> Evidence:
    """Radiograph, reading, radiograph with a file, points in the shaped and dried canal."""
    first = chair.before(rng)
    second = chair.with_file(first, rng)
    tried = points(chair.dried(rng), second, POINTS, rng)
    return case_of(chair, (first, chair.reading, second, *tried), rng)


def without_file(chair: Chair, rng: Generator) -> Evidence:
    """The same without the second radiograph."""
    first = chair.before(rng)
    tried = points(chair.dried(rng), first, POINTS, rng)
    return case_of(chair, (first, chair.reading, *tried), rng)


def held_long(chair: Chair, rng: Generator) -> Evidence:
    """No reading, and every point is held for `HOLD_S`."""
    first = chair.before(rng)
    second = chair.with_file(first, rng)
    tried = points(chair.dried(rng), second, POINTS, rng, hold_s=HOLD_S)
    return case_of(chair, (first, second, *tried), rng)


def cusp_reduced(chair: Chair, rng: Generator) -> Evidence:
    """At the second visit the cusp has been ground down, and the canal is shaped."""
    by = round(rng.uniform(*REDUCED_MM), 1)
    old = chair.place.reference
    then = {"reference_point": old, "reference_offset_mm": -by, "visit": 1}
    first = chair.before(rng).model_copy(update=then)
    reading = chair.reading.model_copy(update=then)
    state = chair.dried(rng)
    state = replace(state, canal=shorter(state.canal, by), visit=2)
    tried = tuple(one.model_copy(update={"visit": 2}) for one in points(state, first, POINTS, rng))
    case = case_of(chair, (first, reading, *tried), rng, crown="prepared")
    return case.model_copy(update={"reference_point": f"{old}, reduced"})


def wet(chair: Chair, rng: Generator) -> Evidence:
    """It bleeds a little from over-instrumentation; every point takes some of it away."""
    first = chair.before(rng)
    tried = points(bleeding(chair, rng), first, WET_POINTS, rng)
    return case_of(chair, (first, chair.reading, *tried), rng)


def blocked(chair: Chair, rng: Generator) -> Evidence:
    """A plug lies above the end, and nobody has looked yet whether the canal is open."""
    first = chair.before(rng)
    second = chair.with_file(first, rng)
    tried = points(plugged(chair, rng), second, POINTS, rng)
    return case_of(chair, (first, chair.reading, second, *tried), rng, obstruction=None)


def opened_aside(chair: Chair, rng: Generator) -> Evidence:
    """The wall is open; points are wet where they pass it."""
    first = chair.before(rng)
    tried = points(opened(chair, rng), first, POINTS, rng)
    return case_of(chair, (first, chair.reading, *tried), rng)


def bleeding(chair: Chair, rng: Generator) -> CanalState:
    """The canal bleeds a little from beyond its end."""
    return replace(
        chair.dried(rng),
        cause="over_length",
        bleeding="oozing",
        liquid_in_canal="blood",
        pool_ul=rng.uniform(*LEFT_UL),
    )


def plugged(chair: Chair, rng: Generator) -> CanalState:
    """The canal with a plug above its end."""
    return replace(chair.dried(rng), block_mm=BLOCK_MM)


def opened(chair: Chair, rng: Generator) -> CanalState:
    """The canal with an opening in its wall."""
    return replace(
        chair.dried(rng), cause="perforation", bleeding="oozing", lateral_mm=rng.uniform(*SIDE_MM)
    )


def case_of(chair: Chair, records: tuple[Record, ...], rng: Generator, **known: object) -> Evidence:
    """The case of these records; the rest is known unless ``known`` says otherwise."""
    pulp: Literal["vital", "necrotic"] = "vital" if rng.random() < 0.5 else "necrotic"
    context = Context(
        pulp=pulp,
        apex="closed",
        obstruction="none",
        crown="intact",
        near_nerve_or_sinus=chair.place.near_nerve_or_sinus or None,
    )
    return Evidence(
        tooth=chair.place.fdi,
        canal=chair.place.canal,
        reference_point=chair.place.reference,
        context=context.model_copy(update=known),
        records=records,
    )
