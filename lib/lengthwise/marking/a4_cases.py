"""The four questions of assignment a4: read marks, run a staircase, and determine two lengths.

All points are tried in canals of the student's own. Canals are drawn until what was written down
can be told apart; the truth never decides.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_space import NOWHERE_MM
from lengthwise.bench.canal_state import CanalState, draw_state
from lengthwise.evidence import Context, Evidence, PointTrial, PreoperativeFilm
from lengthwise.reconciliation import Reconciliation, reconcile
from lengthwise.reference import constants as c

from .exercise import Asked, Exercise, Slip
from .graded_case import Case, GradedCase
from .misconceptions import MISCONCEPTIONS
from .point_sittings import (
    BEYOND_MM,
    STEP_MM,
    estimated_mm,
    film_of,
    is_ordinary,
    try_point,
    try_points,
)
from .point_words import points_sheet
from .tooth_words import TEETH, named

Generator = np.random.Generator
Trials = tuple[PointTrial, ...]

MOST_TRIES = 4000
FULL_MM, NOTHING_MM = 0.1, 0.3
"""A length worked out earns all within the first; a brief touch wicks the second."""

LONG_S, TRAP_S = 4.0, 5.0
THICK = 55
"""A point of this size binds in most canals."""

BLOCK_MM = 1.5
LETTERS = ("A", "B", "C", "D")
FAR_MM = 0.5
"""Taking the first wet length, or a mark at its word, is off by at least this."""


def draw_cases(target_mm: float, rng: Generator) -> dict[str, Case]:
    """The questions q1 to q4 of one student."""
    teeth = [TEETH[int(i)] for i in rng.permutation(len(TEETH))[:4]]
    first, second, third, fourth = ((fdi, reference) for fdi, _, reference in teeth)
    trap = (_after_five_seconds, _dry_past)[int(rng.integers(2))]
    return {
        "q1": _single_marks(*first, rng),
        "q2": _staircases(*second, rng),
        "q3": _determined(*third, _brief_repeats, target_mm, rng),
        "q4": _determined(*fourth, trap, target_mm, rng),
    }


def _single_marks(fdi: str, reference: str, rng: Generator) -> Exercise:
    for state, film in _dried(fdi, rng):
        first = estimated_mm(film)
        state, inside = try_point(state, first - STEP_MM, rng)
        state, brief = try_point(state, first + STEP_MM, rng)
        state, long = try_point(state, first + STEP_MM, rng, contact_s=LONG_S)
        state, stuck = try_point(state, first + BEYOND_MM, rng, size=THICK)
        marks = (inside.wet_mm, stuck.wet_mm, brief.wet_mm > 0.4, long.wet_mm > 0.9)
        if marks == (0.0, 0.0, True, True) and stuck.ran_freely is False and inside.ran_freely:
            break
    else:
        raise _none_fits(fdi)
    letter = dict(zip(("inside", "brief", "long", "stuck"), rng.permutation(LETTERS), strict=True))
    tried = sorted(
        zip(letter.values(), (inside, brief, long, stuck), strict=True), key=lambda row: row[0]
    )
    k = c.PAPER_K_MM_PER_SQRT_S.value
    met = {one.contact_s: one.length_mm - one.wet_mm + k * one.contact_s**0.5
           for one in (brief, long)}  # fmt: skip
    return Exercise(
        told=f"{named(fdi)}. The canal is shaped and dry. Four points were tried; lengths are from "
        f"the {reference}. Liquid creeps up paper, here by {k:.2f} × √t millimetres in t seconds. "
        "Where did each wet point meet liquid?",
        sheets=(points_sheet("Four points", "point", [one for _, one in tried],
                             [str(name) for name, _ in tried]),),
        asked=(
            _length("brief_met_mm", f"where liquid was met, {brief.contact_s:g} s contact",
                    met[brief.contact_s], _first_wet(brief.length_mm), _whole_mark(brief)),
            _length("long_met_mm", f"where liquid was met, {long.contact_s:g} s contact",
                    met[long.contact_s], _first_wet(long.length_mm), _whole_mark(long)),
            Asked("most_telling", "wet point whose correction is the smallest",
                  str(letter["brief"]), words=LETTERS,
                  slips=(Slip(str(letter["long"]), "M5", MISCONCEPTIONS["M5"].told),)),
            Asked("stuck_point_says", "what the point says that did not run freely", "nothing",
                  words=("short", "past", "nothing"),
                  slips=(Slip("short", "M13", MISCONCEPTIONS["M13"].told),)),
        ),
        solution="Length set, minus the mark, plus what crept up: "
        f"{brief.length_mm:g} - {brief.wet_mm:g} + {k * brief.contact_s**0.5:.1f} = "
        f"{met[brief.contact_s]:.1f} mm, and {long.length_mm:g} - {long.wet_mm:g} + "
        f"{k * long.contact_s**0.5:.1f} = {met[long.contact_s]:.1f} mm. The longer a point is "
        "held, the more of its mark is creeping, and the less the mark tells. A point that did "
        "not run freely tells nothing, dry or not.",
        trap="creeping liquid, and a point that sticks",
    )  # fmt: skip


def _staircases(fdi: str, reference: str, rng: Generator) -> Exercise:
    for state, film in _dried(fdi, rng):
        first = estimated_mm(film) - STEP_MM
        state, done = try_points(state, first, first + STEP_MM + BEYOND_MM, 5, rng)
        dry = [one.length_mm for one in done if one.wet_mm == 0]
        wet = [one.length_mm for one in done if one.wet_mm > 0]
        if 1 <= len(dry) <= 3 and wet and max(dry) < min(wet) and _ran_freely(done):
            break
    else:
        raise _none_fits(fdi)
    for state, film in _dried(fdi, rng):
        begun_at = estimated_mm(film) - STEP_MM
        _, begun = try_points(state, begun_at, begun_at + STEP_MM, 2, rng)
        if all(one.wet_mm == 0 for one in begun) and _ran_freely(begun):
            break
    else:
        raise _none_fits(fdi)
    for state, film in _dried(fdi, rng):
        limit = estimated_mm(film) + BEYOND_MM
        plugged = replace(state, block_mm=BLOCK_MM)
        _, limited = try_points(plugged, limit - BEYOND_MM - STEP_MM, limit, 4, rng)
        if all(one.wet_mm == 0 for one in limited):
            break
    else:
        raise _none_fits(fdi)
    last = begun[-1].length_mm
    return Exercise(
        told=f"Three teeth like this one: {named(fdi)[0].lower()}{named(fdi)[1:]}. Points went on "
        f"by {STEP_MM:g} mm, a second each, in dry canals; lengths are from the {reference}. In "
        f"canal P fluid was picked up. In canal Q the estimated working length is "
        f"{begun_at + STEP_MM:g} mm, in canal R {limit - BEYOND_MM:g} mm; no point goes further "
        f"than {BEYOND_MM:g} mm beyond it.",
        sheets=(
            points_sheet("Canal P, in order", "trial", done),
            points_sheet("Canal Q, so far", "trial", begun),
            points_sheet("Canal R, so far", "trial", limited),
        ),
        asked=(
            _length("longest_dry_mm", "canal P: last length shown to be inside", max(dry)),
            _length("first_wet_mm", "canal P: first length shown to be at or past the foramen",
                    min(wet)),
            Asked("foramen_is", "canal P: where the foramen lies", "between",
                  words=("between", "first_wet", "further"),
                  slips=(Slip("first_wet", "M4", MISCONCEPTIONS["M4"].told),)),
            _length("next_trial_mm", "canal Q: the next length to try", last + STEP_MM,
                    Slip(last + 2 * STEP_MM, "M13", MISCONCEPTIONS["M13"].told)),
            Asked("at_the_limit", "canal R: what comes next", "look",
                  words=("longer", "record", "look"),
                  slips=(Slip("longer", "M13", MISCONCEPTIONS["M13"].told),)),
        ),
        solution=f"Canal P: dry at {max(dry):g} mm, wet from {min(wet):g} mm on; the foramen lies "
        f"between the two. Canal Q: half a millimetre on, {last + STEP_MM:g} mm. Canal R: dry as "
        "far as a point may go. That does not mean short: look whether the canal is open, the "
        "point runs and the reference holds.",
        trap="first wet is not the length; dry is not always short",
    )  # fmt: skip


def _determined(
    fdi: str,
    reference: str,
    sitting: Callable[[CanalState, float, Generator], tuple[str, Trials] | None],
    target_mm: float,
    rng: Generator,
) -> GradedCase:
    for state, film in _dried(fdi, rng):
        tried = sitting(state, estimated_mm(film), rng)
        if tried is None:
            continue
        trap, trials = tried
        evidence = Evidence(
            tooth=fdi,
            canal="single",
            reference_point=reference,
            context=Context(apex="closed", crown="intact"),
            records=(film, *trials),
        )
        if _TEACHES[trap](reconcile(evidence, target_mm=target_mm), trials):
            return GradedCase(evidence, target_mm, state.canal.foramen_mm, trap)
    raise _none_fits(fdi)


def _brief_repeats(
    state: CanalState, estimated: float, rng: Generator
) -> tuple[str, Trials] | None:
    """Dry short of the foramen, then three brief points a good way past it."""
    far = estimated + BEYOND_MM
    state, inside = try_points(state, estimated - STEP_MM, estimated - STEP_MM, 1, rng)
    state, past = try_points(state, far, far, 3, rng)
    trials = (*inside, *past)
    wet = all(one.wet_mm > 0.9 for one in past)
    return ("none", trials) if inside[0].wet_mm == 0 and wet and _ran_freely(trials) else None


def _after_five_seconds(
    state: CanalState, estimated: float, rng: Generator
) -> tuple[str, Trials] | None:
    """A staircase whose points were all held for five seconds."""
    trials, length = list[PointTrial](), estimated - STEP_MM
    while len(trials) < 5:
        state, one = try_point(state, length, rng, contact_s=TRAP_S)
        trials.append(one)
        length = min(length + STEP_MM * (one.wet_mm == 0), estimated + BEYOND_MM)
    wet = [one for one in trials if one.wet_mm > 0]
    return ("5 s contact", tuple(trials)) if len(wet) >= 3 and _ran_freely(trials) else None


def _dry_past(state: CanalState, estimated: float, rng: Generator) -> tuple[str, Trials] | None:
    """A blocked canal: points that stay dry as far as they may go."""
    plugged = replace(state, block_mm=BLOCK_MM)
    first, last = estimated - STEP_MM, estimated + BEYOND_MM
    _, trials = try_points(plugged, first, last, 5, rng)
    dry = all(one.wet_mm == 0 for one in trials)
    return ("dry past the foramen", trials) if dry else None


def _off_mm(result: Reconciliation, foramen_mm: float) -> float:
    """How far somebody is off (mm) who takes the foramen for this, past the library's length."""
    return foramen_mm - result.loss.target_mm - result.best_length_mm


def _first_wet_misleads(result: Reconciliation, trials: Trials) -> bool:
    first = min(one.length_mm for one in trials if one.wet_mm > 0)
    return result.working_length_mm is not None and _off_mm(result, first) >= FAR_MM


def _whole_mark_misleads(result: Reconciliation, trials: Trials) -> bool:
    ends = [one.length_mm - one.wet_mm for one in trials if one.wet_mm > 0]
    short = -_off_mm(result, float(np.mean(ends)))
    return result.working_length_mm is not None and short >= FAR_MM + STEP_MM / 2


def _asks_first(result: Reconciliation, trials: Trials) -> bool:
    return result.next_step.word == "points"


_TEACHES: dict[str, Callable[[Reconciliation, Trials], bool]] = {
    "none": _first_wet_misleads,
    "5 s contact": _whole_mark_misleads,
    "dry past the foramen": _asks_first,
}


def _dried(fdi: str, rng: Generator) -> Iterator[tuple[CanalState, PreoperativeFilm]]:
    """Ordinary canals of this tooth after they were dried, each with its first radiograph."""
    for _ in range(MOST_TRIES):
        canal = draw_canals(fdi, 1, rng).one(0)
        state = draw_state(canal, rng)
        plain = state.cause == "none" and state.block_mm <= NOWHERE_MM
        if plain and is_ordinary(canal):
            dry = replace(
                state, pool_ul=0.0, wall_moisture=0.0, irrigant="none", liquid_in_canal="dry"
            )
            yield dry, film_of(canal, rng)


def _none_fits(fdi: str) -> RuntimeError:
    return RuntimeError(f"no canal fits its question in {MOST_TRIES} tries for tooth {fdi}")


def _ran_freely(trials: Trials | list[PointTrial]) -> bool:
    return all(one.ran_freely for one in trials)


def _length(name: str, means: str, expected: float, *slips: Slip) -> Asked:
    return Asked(name, means, round(expected, 3), FULL_MM, NOTHING_MM, 5.0, 45.0, slips=slips)


def _first_wet(length_mm: float) -> Slip:
    return Slip(length_mm, "M4", MISCONCEPTIONS["M4"].told)


def _whole_mark(trial: PointTrial) -> Slip:
    return Slip(round(trial.length_mm - trial.wet_mm, 3), "M5", MISCONCEPTIONS["M5"].told)
