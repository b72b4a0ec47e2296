"""Kinds of traces for a3, and twelve of them for every student.

What a trace is worth asking for is decided by its signs, by what the canal is like, and by
whether what is written down beside it tells what helps. Traces on a border are left out.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lengthwise.reconciliation.trace_signs import TraceNumbers, numbers_of
from lengthwise.reference import traces as t

from .a3_changes import helpful, spoken_for
from .a3_readings import NEAR_MM, UNUSABLE, USABLE, Generator, Reading, draw_readings
from .tooth_words import TEETH
from .trace_steps import trace_steps

SIGNS = ("jumps", "follows", "signal")
"""What fails, in the order of the three signs."""

SOUND, SHORT = "sound", "steady and short"
"""Kinds of traces; the others are called after the sign that decides."""

SLOTS: tuple[tuple[str, Mapping[str, float]], ...] = (
    *2 * ((SOUND, {"none": 2.0}),),
    *2 * ((SOUND, {"metal": 1.0, "loose": 1.0, "moist": 1.0}),),
    *2 * ((SHORT, {"moist": 10.0}),),
    ("jumps", {"metal": 2.0}),
    ("jumps", {"metal": 2.0, "loose": 1.0}),
    *2 * (("follows", {"loose": 4.0, "moist": 3.0, "metal": 0.0}),),
    ("signal", {"leak": 0.8, "flooded": 0.8}),
    ("signal", {"leak": 0.8, "flooded": 0.8, "loose": 0.0, "moist": 0.0}),
)
"""The twelve traces of a student: kind, the troubles it may come from, and how many canals are
read in each to find one. Some are sound in spite of what is written down."""

MOST_ROUNDS, AT_ONCE, MOST_OF_A_TOOTH = 90, 18, 5
SHORT_MM, SUSPECT_MM = 0.55, 0.5
"""A short signal comes this far before the foramen, and this far before the estimated length."""

AGREES_MM = (-1.3, 0.2)
"""A sound signal comes this far before the estimated length; it mostly comes a little past it."""

FAR_MM = 0.6
"""A depth plus what was displayed there is off by at least this much in sound traces."""

LOST_SHARE = 0.1
"""More without a value than this is left out."""

WELL_BELOW, WELL_ABOVE = 0.65, 1.2
"""What is measured for a sign lies outside these times the limit at which the sign fails."""

WELL_REACHED = -0.2
"""A display that only grazes 0 does not let anybody see that the signal came by itself."""

LAGS_MM = 0.2
"""Each place where the signal came is this close to what is expected: lag costs nobody points."""


@dataclass(frozen=True)
class Judged:
    """A reading with its kind, the changes that help, and the signal (mm) after the first."""

    reading: Reading
    kind: str
    changes: tuple[str, ...]
    signal_then_mm: float


def balanced(rng: Generator) -> list[Judged]:
    """Twelve readings of different canals, for each of `SLOTS` one."""
    missing, found = list(SLOTS), list[Judged]()
    for fdi in _teeth(rng):
        of_this = 0
        for one in draw_readings(fdi, AT_ONCE, _shares(missing), rng):
            kind = kind_of(one)
            fits = [
                k for k, slot in enumerate(missing) if slot[0] == kind and one.trouble in slot[1]
            ]
            again = any(one.foramen_mm == each.reading.foramen_mm for each in found)
            if again or not fits or of_this == MOST_OF_A_TOOTH:
                continue
            judged = _judged(one, kind, rng)
            if judged is not None:
                found.append(judged)
                of_this += 1
                del missing[fits[0]]
        if not missing:
            return found
    raise RuntimeError(f"no such traces in {MOST_ROUNDS} rounds; still missing: {missing}")


def _shares(missing: Sequence[tuple[str, Mapping[str, float]]]) -> dict[str, float]:
    """How often each trouble is read, for what is still missing."""
    shares: dict[str, float] = {}
    for _, troubles in missing:
        for trouble, often in troubles.items():
            shares[trouble] = shares.get(trouble, 0.0) + often
    return shares


def _teeth(rng: Generator) -> Iterator[str]:
    for _ in range(MOST_ROUNDS // len(TEETH) + 1):
        for i in rng.permutation(len(TEETH)):
            yield TEETH[int(i)][0]


def kind_of(one: Reading) -> str:
    """The kind of a trace that can be asked about; nothing when it lies on a border."""
    quality, holds = one.quality, [sign.holds for sign in one.quality.signs]
    shown = np.array([np.nan if v is None else v for v in one.record.indicated or ()])
    if np.isnan(shown).mean() > LOST_SHARE or np.isnan(quality.steady.number):
        return ""
    numbers = numbers_of(np.array(one.record.time_s), np.array(one.record.depth_mm), shown)
    if not _plain(numbers):
        return ""
    if not all(holds):
        sign = SIGNS[holds.index(False)]
        seen = sign != "follows" or numbers.lowest <= WELL_REACHED
        return sign if seen and quality.usable <= UNUSABLE else ""
    if quality.usable < USABLE or quality.signal_mm is None:
        return ""
    off = quality.signal_mm - one.foramen_mm
    before = one.estimated_mm - quality.signal_mm
    if np.abs(numbers.came_mm - quality.signal_mm).max() > LAGS_MM:
        return ""
    if abs(off) <= NEAR_MM and AGREES_MM[0] <= before <= AGREES_MM[1]:
        at, shows = resting(one)
        return SOUND if abs(at + shows - quality.signal_mm) >= FAR_MM else ""
    return SHORT if off <= -SHORT_MM and before >= SUSPECT_MM else ""


def _plain(numbers: TraceNumbers) -> bool:
    """Whether nothing that is measured on the trace lies close to where its sign begins to fail.

    Jumps, and signals that come by themselves, are counted; one is enough.
    """
    measured = (
        (numbers.backward, t.BACKWARD_HOLDS, numbers.jumps),
        (numbers.restless, t.RESTLESS_HOLDS, numbers.by_itself),
        (numbers.apart_mm, t.APART_HOLDS_MM, 0),
    )
    return all(
        counted or not WELL_BELOW < number / limit.value < WELL_ABOVE
        for number, limit, counted in measured
    )


def _judged(one: Reading, kind: str, rng: Generator) -> Judged | None:
    """The reading with what helps it; None where what is written down does not tell."""
    reasons = spoken_for(one)
    if kind == SOUND:
        # Nothing has to be changed; what is written down may be put right all the same.
        return Judged(one, kind, ("nothing", *reasons), 0.0)
    tried = [*reasons, *(["dry_canal"] if "fill" in reasons or "dry_crown" in reasons else [])]
    helps = helpful(one, ["nothing", *tried], rng)
    if not reasons or "nothing" in helps or reasons[0] not in helps:
        return None
    return Judged(one, kind, tuple(helps), helps[reasons[0]])


def resting(one: Reading) -> tuple[float, float]:
    """Depth (mm) at which the file first rested, and the value displayed there; NaN for none."""
    for step in trace_steps(one.record):
        known = step.shown[np.isfinite(step.shown)]
        if step.way == 0 and known.size:
            return float(step.depth_mm[0]), float(known[-1])
    return float("nan"), float("nan")
