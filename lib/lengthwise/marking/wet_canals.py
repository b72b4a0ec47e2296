"""Canals that will not stay dry: what comes of every course of three actions in one of them.

Each action is done on the bench as a clinician would do it, with drying and new points after
everything that is meant to dry; what is kept of it is what would be seen.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from lengthwise.bench import point_actions as do
from lengthwise.bench.canal_state import BLEEDINGS, Bleeding, CanalState
from lengthwise.bench.points import step

from .point_sittings import BEYOND_MM, STEP_MM, try_points
from .rounds import Seen

Generator = np.random.Generator

ACTIONS: dict[str, str] = {
    "dry": "dry with fresh points, down to a length known to be inside; then try points again",
    "rinse": "rinse passively with hypochlorite, then saline; wait three minutes, dry, try points",
    "peroxide": "a point dampened with 3 % hydrogen peroxide, 1 mm short of the longest dry "
    "length, changed and repeated; dry, try points",
    "patency": "rinse with saline, see with a small file whether the canal is open; dry, try "
    "points",
    "film": "a radiograph from another angle, to look for the cause",
    "ask": "stop here and call the supervisor",
    "rebook": "dress, seal, another visit; no length is taken today",
    "longer": "a point one millimetre longer than allowed so far, to see whether it gets wet",
    "syringe": "rinse with hydrogen peroxide from a syringe",
}
"""Words for a round, with what each of them means to a student."""

REFUSED = ("rinse", "peroxide")
"""What would bring a liquid to the tissues, so that it is refused where an opening is suspected."""

DRYING_POINTS = 6
TRIED_POINTS = 4


@dataclass(frozen=True)
class Bench:
    """One canal at one moment, with what the clinic knows about lengths.

    Attributes
    ----------
    state : of the canal.
    estimated_mm : the estimated working length.
    """

    state: CanalState
    estimated_mm: float

    @property
    def first_mm(self) -> float:
        """Where points begin: at the longest dry length, or half a millimetre short."""
        return self.state.longest_dry_mm or self.estimated_mm - STEP_MM

    @property
    def inside_mm(self) -> float:
        """A length known to be inside: the longest dry one, or a millimetre short."""
        return self.state.longest_dry_mm or self.estimated_mm - 2 * STEP_MM

    def does(self, rng: Generator, *actions: do.Action) -> tuple["Bench", Seen]:
        """The canal after some actions, and what was seen of them together."""
        state, outcomes = self.state, list[do.Outcome]()
        for action in actions:
            state, outcome = step(state, action, rng)
            outcomes.append(outcome)
        return replace(self, state=state), Seen(
            " ".join(one.sentence for one in outcomes),
            refused=any(one.refused for one in outcomes),
            bleeding=_most(*(one.bleeding for one in outcomes)),
        )


def open_rounds(bench: Bench, rng: Generator) -> tuple[Bench, Seen]:
    """What is seen before the rounds: rinsed, dried, tried once."""
    return _then_points(bench, rng, do.Rinse("saline"))


def happens(bench: Bench, rounds: int, rng: Generator) -> dict[str, Seen]:
    """What comes of every action now, and of all that may follow in the rounds that are left."""
    if rounds == 0:
        return {}
    seen = {}
    for word, act in _TREATING.items():
        after, one = act(bench, rng)
        seen[word] = one if one.over else replace(one, then=happens(after, rounds - 1, rng))
    seen |= {word: act(bench, rng)[1] for word, act in _ENDING.items()}
    return seen | {"film": _look(bench, seen, rounds, rng)}


def _look(bench: Bench, others: Mapping[str, Seen], rounds: int, rng: Generator) -> Seen:
    """A radiograph changes nothing in the canal: what follows it is what would have come anyway."""
    after, seen = bench.does(rng, do.AngledRadiograph())
    found = _found(after.state)
    then = {word: _cut(one, rounds - 1) for word, one in others.items()} if rounds > 1 else {}
    if found:
        refused = {word: _TREATING[word](after, rng)[1] for word in REFUSED}
        then = {word: _refusing(one, refused) for word, one in (then | refused).items()}
    one = replace(seen, found=found)
    again = replace(one, then=_look(bench, others, rounds - 1, rng).then) if rounds > 1 else one
    return replace(one, then=then | {"film": again}) if rounds > 1 else one


def _cut(seen: Seen, rounds: int) -> Seen:
    then = {word: _cut(one, rounds - 1) for word, one in seen.then.items()} if rounds > 1 else {}
    return replace(seen, then=then)


def _refusing(seen: Seen, refused: dict[str, Seen]) -> Seen:
    then = {word: _refusing(one, refused) for word, one in seen.then.items()}
    return replace(seen, then=then | refused if then else then)


def _found(state: CanalState) -> dict[str, str]:
    """What a chart says of the canal from now on, in the words of `Context`."""
    found = {}
    if "perforation" in state.suspected:
        found["communication"] = "perforation_suspected"
    if "sinus" in state.suspected:
        found["communication"] = "sinus_suspected"
    if "resorption" in state.suspected:
        found["apex"] = "resorbed"
    return found


def _then_points(bench: Bench, rng: Generator, *first: do.Action) -> tuple[Bench, Seen]:
    bench, seen = bench.does(rng, *first, do.Dry(bench.inside_mm, DRYING_POINTS))
    limit = bench.estimated_mm + BEYOND_MM
    state, trials = try_points(bench.state, bench.first_mm, limit, TRIED_POINTS, rng)
    return replace(bench, state=state), replace(seen, trials=trials)


def _dry(bench: Bench, rng: Generator) -> tuple[Bench, Seen]:
    return _then_points(bench, rng)


def _rinse(bench: Bench, rng: Generator) -> tuple[Bench, Seen]:
    return _unless_refused(bench, rng, do.Rinse("hypochlorite"), do.Rinse("saline"), do.Wait())


def _dampen(bench: Bench, rng: Generator) -> tuple[Bench, Seen]:
    return _unless_refused(bench, rng, do.PeroxidePoint(bench.inside_mm - 2 * STEP_MM))


def _unless_refused(
    bench: Bench, rng: Generator, first: do.Action, *more: do.Action
) -> tuple[Bench, Seen]:
    after, seen = bench.does(rng, first)
    if seen.refused:
        return bench, replace(seen, over=True)
    after, then = _then_points(after, rng, *more)
    return after, _one_after_the_other(seen, then)


def _one_after_the_other(seen: Seen, then: Seen) -> Seen:
    return replace(
        then, said=f"{seen.said} {then.said}", bleeding=_most(seen.bleeding, then.bleeding)
    )


def _most(*bleedings: Bleeding) -> Bleeding:
    return max(bleedings, key=BLEEDINGS.index, default="none")


def _patency(bench: Bench, rng: Generator) -> tuple[Bench, Seen]:
    after, seen = bench.does(rng, do.Rinse("saline"), do.CheckPatency())
    if after.state.block_mm > 0:
        return after, replace(seen, found={"obstruction": "block"})
    after, then = _then_points(after, rng)
    return after, replace(_one_after_the_other(seen, then), found={"obstruction": "none"})


def _ends(action: do.Action) -> Callable[[Bench, Generator], tuple[Bench, Seen]]:
    def act(bench: Bench, rng: Generator) -> tuple[Bench, Seen]:
        after, seen = bench.does(rng, action)
        return after, replace(seen, found=_found(after.state), over=True)

    return act


def _longer(bench: Bench, rng: Generator) -> tuple[Bench, Seen]:
    too_long = bench.estimated_mm + 2 * BEYOND_MM
    state, trials = try_points(bench.state, too_long, too_long, 1, rng)
    return replace(bench, state=state), Seen(
        "One point, longer than any before.", trials, over=True
    )


Act = Callable[[Bench, Generator], tuple[Bench, Seen]]
_TREATING: dict[str, Act] = {
    "dry": _dry, "rinse": _rinse, "peroxide": _dampen, "patency": _patency
}  # fmt: skip
_ENDING: dict[str, Act] = {
    "ask": _ends(do.CallSupervisor()),
    "rebook": _ends(do.DressAndRebook()),
    "longer": _longer,
    "syringe": _ends(do.PeroxideSyringe()),
}
