"""The two questions of assignment a5: a canal that can be brought back to dry, and one that cannot.

Every student gets one of each, in an order of their own. Canals are drawn until what is seen
before the rounds shows that something is wrong, and, for the first kind, until some safe courses
end with a length.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_space import NOWHERE_MM
from lengthwise.bench.canal_state import CanalState, Cause, draw_state
from lengthwise.evidence import Context, Evidence, PreoperativeFilm
from lengthwise.reconciliation import reconcile

from .determination import Determination
from .point_sittings import BEYOND_MM, estimated_mm, film_of, is_ordinary
from .point_words import points_sheet
from .rounds import ROUND_NAMES, Rounds, Seen, followed
from .rounds_marks import case_of, steps_that_fit
from .rounds_rules import RULES, Course
from .rounds_signs import signs, why_not_dry
from .sheet import Sheet
from .tooth_words import TEETH, named
from .wet_canals import ACTIONS, Bench, happens, open_rounds

Generator = np.random.Generator

MOST_TRIES = 2000
FEWEST_COURSES = 3
"""A canal that comes back to dry does so on at least so many safe courses."""


@dataclass(frozen=True)
class Trouble:
    """Why a canal stays wet, and whether it can be brought back to dry."""

    trap: str
    cause: Cause
    blocked: bool = False
    comes_back: bool = False


COMES_BACK = (
    Trouble("bleeding that settles", "over_length", comes_back=True),
    Trouble("a remnant of tissue", "tissue_remnant", comes_back=True),
    Trouble("a blocked canal", "none", blocked=True, comes_back=True),
)
STAYS_WET = (
    Trouble("clear liquid that keeps coming", "seeping"),
    Trouble("an opening in the side", "perforation"),
    Trouble("a resorbed end", "resorption"),
)


def draw_cases(target_mm: float, rng: Generator) -> dict[str, Rounds]:
    """The questions q1 and q2 of one student."""
    troubles = [kind[int(rng.integers(len(kind)))] for kind in (COMES_BACK, STAYS_WET)]
    teeth = rng.permutation(len(TEETH))[:2]
    order = rng.permutation(2)
    return {
        f"q{number}": _draw(TEETH[int(teeth[i])], troubles[i], target_mm, rng)
        for number, i in enumerate(order.tolist(), 1)
    }


def _draw(
    where: tuple[str, str, str], trouble: Trouble, target_mm: float, rng: Generator
) -> Rounds:
    fdi, _, reference = where
    for state in _canals(fdi, trouble, rng):
        film = film_of(state.canal, rng)
        bench, first = open_rounds(Bench(state, estimated_mm(film)), rng)
        if not _shows(trouble, first):
            continue
        first = replace(first, then=happens(bench, len(ROUND_NAMES), rng))
        rounds = _asked(fdi, reference, film, first, trouble, state.canal.foramen_mm, target_mm)
        if not trouble.comes_back or _some_lengths(rounds):
            return rounds
    raise RuntimeError(f"no canal with {trouble.trap!r} in {MOST_TRIES} tries for tooth {fdi}")


def _canals(fdi: str, trouble: Trouble, rng: Generator) -> Iterator[CanalState]:
    """Prepared canals of this tooth with this trouble and no other."""
    canals = draw_canals(fdi, MOST_TRIES, rng)
    for i in range(MOST_TRIES):
        state = draw_state(canals.one(i), rng)
        blocked = state.block_mm > NOWHERE_MM
        fits = state.cause == trouble.cause and blocked == trouble.blocked
        if fits and is_ordinary(state.canal):
            yield state


def _shows(trouble: Trouble, first: Seen) -> bool:
    """Whether a careful reader sees before the first round that something is wrong."""
    if trouble.blocked:
        return "stuck" in signs(first)
    if trouble.cause == "seeping":
        return bool(why_not_dry(first.trials))
    return "blood" in signs(first)


def _some_lengths(rounds: Rounds) -> bool:
    """Whether some safe courses end with a length."""
    lengths = 0
    for words in _courses(rounds.happens):
        steps = followed(rounds.happens, words)
        seen = (rounds.happens, *(one for _, one in steps))
        course = Course(words, seen, Determination(working_length_mm=1.0))
        if steps_that_fit(course) or any(rule.broken(course) for rule in RULES):
            continue
        if reconcile(case_of(rounds, course).evidence).working_length_mm is not None:
            lengths += 1
        if lengths >= FEWEST_COURSES:
            return True
    return False


def _courses(seen: Seen, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every course of actions, a longer one after its beginning."""
    for word, one in seen.then.items():
        yield (*before, word)
        yield from _courses(one, (*before, word))


def _asked(
    fdi: str,
    reference: str,
    film: PreoperativeFilm,
    first: Seen,
    trouble: Trouble,
    foramen_mm: float,
    target_mm: float,
) -> Rounds:
    estimated = estimated_mm(film)
    before = Evidence(
        tooth=fdi,
        canal="single",
        reference_point=reference,
        context=Context(apex="closed", crown="intact"),
        records=(film, *first.trials),
    )
    return Rounds(
        told=f"{named(fdi)}. Shaped, and rinsed with hypochlorite. All lengths are millimetres "
        f"from the {reference}. The radiograph before treatment (paralleling) shows a tooth of "
        f"{film.tooth_length_mm:.1f} mm on the image; corrected, minus 1 mm, the estimated working "
        f"length is {estimated:.1f} mm, and no point goes further than "
        f"{estimated + BEYOND_MM:.1f} mm. Before the first round: {first.said} Then points "
        "were tried.",
        sheets=(
            points_sheet("Points before the first round, in order", "trial", first.trials),
            Sheet("One action a round", ("word", "what is done"), tuple(ACTIONS.items())),
        ),
        actions=ACTIONS,
        before=before,
        happens=first,
        target_mm=target_mm,
        foramen_mm=foramen_mm,
        trap=trouble.trap,
    )  # fmt: skip
