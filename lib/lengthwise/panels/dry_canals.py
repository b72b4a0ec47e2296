"""The canals of lesson 05: upper canines, invented, alike but for what keeps them wet or dry.

What is done to them is a line of entries. Nothing in it ever changes: an action gives a longer
line, and the same actions give the same line.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_space import NOWHERE_MM, level_mm, volume_ul
from lengthwise.bench.canal_state import CanalState, draw_state, wetness_of
from lengthwise.bench.point_actions import (
    Action,
    CheckPatency,
    DressAndRebook,
    Dry,
    Outcome,
    Rinse,
)
from lengthwise.bench.points import step
from lengthwise.evidence import Context, ElectronicReading, Evidence, PointTrial
from lengthwise.reference import points as p

FDI = "13"
SIGNAL_EARLY_MM = 0.2
"""By how much the electronic reading's foramen signal comes too early in all of these canals."""

WAYS: dict[str, tuple[float, float, dict[str, Any]]] = {
    "drifts": (24.2, 2.2, {}),
    "oozes": (23.7, 0.6, {"cause": "over_length", "bleeding": "oozing"}),
    "remnant": (24.4, 0.0, {"cause": "tissue_remnant", "remnant_mm": 2.2, "bleeding": "oozing"}),
    "perforated": (23.9, 0.0, {"cause": "perforation", "lateral_mm": 2.5, "bleeding": "oozing"}),
    "blocked": (24.7, 0.0, {"block_mm": 1.8}),
    "seeps": (23.5, 1.4, {"cause": "seeping", "seep_ul_per_s": 2 * p.OOZE_UL_PER_S.value}),
}
"""By name: the foramen (mm), liquid above it at the start (mm), and what is the matter."""

CHANCE = 956
"""Chosen so that in canal A the drift is larger than the slips of the hand from the first point."""

LETTERS = dict(zip("ABCDEF", WAYS, strict=True))
"""What the student sees instead of the names, which would give it away."""


@dataclass(frozen=True)
class DryCase:
    """A canal that is said to be dry, and what is known of it.

    Attributes
    ----------
    letter : what the student calls it.
    state : the canal at the start, with everything that nobody sees.
    signal_mm : where the electronic reading gave its foramen signal.
    """

    letter: str
    state: CanalState
    signal_mm: float


@dataclass(frozen=True)
class Entry:
    """One action: what came of it, and the canal afterwards."""

    outcome: Outcome
    state: CanalState


@dataclass(frozen=True)
class Line:
    """What was done to a canal so far, in order.

    Attributes
    ----------
    case : the canal.
    entries : one an action, refused ones included.
    opened : whether the student has judged this canal and sees inside it.
    """

    case: DryCase
    entries: tuple[Entry, ...] = ()
    opened: bool = False

    @property
    def state(self) -> CanalState:
        """The canal now."""
        return self.states[-1]

    @property
    def states(self) -> tuple[CanalState, ...]:
        """The canal at the start and after every action."""
        return (self.case.state, *(entry.state for entry in self.entries))

    @property
    def trials(self) -> tuple[PointTrial, ...]:
        """The points that were tried."""
        return tuple(e.outcome.trial for e in self.entries if e.outcome.trial is not None)


def dry_case(name: str) -> DryCase:
    """One of the lesson's canals.

    Parameters
    ----------
    name
        A key of `WAYS`.

    Raises
    ------
    ValueError
        If there is no such canal.

    Examples
    --------
    >>> case = dry_case("drifts")
    >>> case.letter, case.signal_mm, round(standing_mm(case.state), 2)
    ('A', 24.0, 2.2)
    """
    if name not in WAYS:
        raise ValueError(f"name: got {name!r}; the lesson has {', '.join(WAYS)}.")
    foramen, level, changes = WAYS[name]
    rng = np.random.default_rng(5)
    drawn = draw_canals(FDI, 1, rng).one(0)
    canal = replace(
        drawn, apex_mm=foramen + 0.4, foramen_mm=foramen, constriction_mm=foramen - 0.7,
        foramen_diameter_mm=0.35, foramen_angle_deg=20.0, constriction_diameter_mm=0.3,
        diameter_bl_mm=(0.35, 0.45, 0.7), diameter_md_mm=(0.3, 0.35, 0.5), curvature_deg=5.0,
    )  # fmt: skip
    plain: dict[str, Any] = {
        "tissue_past_mm": -0.25, "fold_chance": 0.0, "entrance_limited": False, "cause": "none",
        "bleeding": "none", "remnant_mm": 0.0, "block_mm": NOWHERE_MM, "lateral_mm": None,
        "seep_ul_per_s": 0.0, "wall_moisture": 0.1, "irrigant": "none", "liquid_in_canal": "dry",
    }  # fmt: skip
    state = replace(draw_state(canal, rng), **{**plain, **changes})
    pool = volume_ul(wetness_of(state).space, np.array([level]))[0]
    letter = {way: letter for letter, way in LETTERS.items()}[name]
    return DryCase(letter, replace(state, pool_ul=float(pool)), foramen - SIGNAL_EARLY_MM)


def done(line: Line, action: Action) -> Line:
    """The line with one more action.

    Chance belongs to the canal and the place in the line, so that who does the same sees the same.

    Raises
    ------
    ValueError
        What was asked for cannot be.
    """
    rng = np.random.default_rng([CHANCE, ord(line.case.letter), len(line.entries)])
    state, outcome = step(line.state, action, rng)
    return replace(line, entries=(*line.entries, Entry(outcome, state)))


def all_done(line: Line, actions: Iterable[Action]) -> Line:
    """The line with several more actions."""
    for action in actions:
        line = done(line, action)
    return line


def standing_mm(state: CanalState) -> float:
    """How high liquid stands above the foramen (mm)."""
    return float(level_mm(wetness_of(state).space, np.array([state.pool_ul]))[0])


def evidence_of(line: Line) -> Evidence:
    """What a clinician has written down of this canal: the reading, the points, what was found.

    Examples
    --------
    >>> evidence_of(Line(dry_case("blocked"))).context.obstruction is None
    True
    """
    reading = ElectronicReading(
        foramen_signal_mm=line.case.signal_mm, visit=1, stage="after_shaping"
    )
    before, now = _by_drying(line)
    # Who dries again says that the canal was not dry before, whatever was written down then.
    before = [
        trial.model_copy(update={"liquid_in_canal": "moist"})
        if trial.liquid_in_canal == "dry" and trial.visit == line.state.visit
        else trial
        for trial in before
    ]
    suspected = line.state.suspected
    return Evidence(
        tooth=FDI,
        canal="single",
        reference_point="cusp tip",
        context=Context(
            communication="perforation_suspected" if "perforation" in suspected else None,
            obstruction="block" if found_blocked(line) else None,
        ),
        records=(reading, *before, *now),
    )


def _by_drying(line: Line) -> tuple[list[PointTrial], list[PointTrial]]:
    """The points before the canal was last dried, rinsed or dressed, and those since."""
    before: list[PointTrial] = []
    now: list[PointTrial] = []
    for entry in line.entries:
        dries = isinstance(entry.outcome.action, Dry | Rinse | DressAndRebook)
        if dries and not entry.outcome.refused:
            before, now = before + now, []
        elif entry.outcome.trial is not None:
            now.append(entry.outcome.trial)
    return before, now


def ends_since_drying(line: Line) -> list[float]:
    """Where the marks of wet points ended (mm) since the canal was last dried, rinsed or dressed.

    These are the picture's dots, and what a drift is read from.
    """
    return [end_mm(trial) for trial in _by_drying(line)[1] if tells_end(trial)]


def tells_end(trial: PointTrial) -> bool:
    """Whether a mark starts at the tip, so that it tells a length."""
    return trial.mark_site in ("tip_straight", "tip_oblique")


def end_mm(trial: PointTrial) -> float:
    """What a wet point says: its length less its mark (mm), not yet corrected for wicking."""
    return trial.length_mm - trial.wet_mm


def found_blocked(line: Line) -> bool:
    """Whether the last small file that was passed met something."""
    looked = [e.state for e in line.entries if isinstance(e.outcome.action, CheckPatency)]
    return bool(looked) and looked[-1].block_mm > NOWHERE_MM
