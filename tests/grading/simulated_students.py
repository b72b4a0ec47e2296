"""Simulated students of a7: what each kind believes, how people err, and what comes of it.

Every kind but two is careful where its belief does not speak. All of them read and round as people
do, give intervals somewhat too wide or too narrow, and slip now and then; nobody is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import a7_students as habits
import numpy as np
from a7_variants import Variant
from lengthwise.marking.beliefs import implied_lengths_mm
from lengthwise.marking.believers import BELIEVERS, believers_answer, careful_answer
from lengthwise.marking.determination import Determination
from lengthwise.marking.diagnosis import named_in
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.items import Item, ShuffledItem, mark_item
from lengthwise.marking.marks import mark_weighed
from lengthwise.reconciliation import NEXT_STEPS, Reconciliation

Generator = np.random.Generator

READS_MM = 0.1
"""How far a careful reading of a table, a trace and a ruler strays (judgement)."""

STEP_MM = 0.25
WIDTH_LOG = 0.2
"""Intervals are too wide or too narrow by a fifth (judgement)."""

SLIPS = 0.02
"""A wrong letter or a wrong next step out of fifty, by everybody (judgement)."""

ERRS = 0.5
"""Of the answers of an erratic student, so many go by nothing."""

SHEETS = 10
"""The lucky guesser hands in the luckiest of so many sheets."""

DETERMINATION_POINTS = 1.2
BELIEFS = tuple(f"M{n}" for n in range(1, 17))
CAREFUL, BY_HAND, ERRATIC, GUESSER = "careful", "careful by hand", "erratic", "lucky guesser"
KINDS = (CAREFUL, BY_HAND, *BELIEFS, ERRATIC, GUESSER)

_STEPS = tuple(word for word in NEXT_STEPS if word not in ("confirm", "longer"))


@dataclass(frozen=True)
class Sheet:
    """What one student hands in."""

    determinations: Mapping[str, Determination]
    options: Mapping[str, int]


@dataclass(frozen=True)
class Outcome:
    """What came of it: the share of every question, the points before the reason, what is named."""

    shares: Mapping[str, float]
    named: tuple[str, ...]
    traps: Mapping[str, str]

    @property
    def points(self) -> float:
        """Of sixteen; the written reason is marked by hand."""
        return sum(self.points_by_trap.values())

    @property
    def points_by_trap(self) -> dict[str, float]:
        """Points of every canal by its trap, and of every item: the same columns for everybody."""
        return {
            self.traps.get(name, name): share * (DETERMINATION_POINTS if name in self.traps else 1)
            for name, share in sorted(self.shares.items())
        }


def sheet_of(kind: str, variant: Variant, items: Mapping[str, Item], rng: Generator) -> Sheet:
    """The answers of one student of this kind; a lucky guesser's are the luckiest of ten."""
    if kind == GUESSER:
        sheets = [_guessed(variant, items, rng) for _ in range(SHEETS)]
        return max(sheets, key=lambda one: outcome_of(one, variant, items).points)
    if kind == ERRATIC:
        guess = _guessed(variant, items, rng)
        return _mixed(guess, sheet_of(CAREFUL, variant, items, rng), ERRS, rng)
    answer = _ANSWERS.get(kind) or (lambda case, result, _: believers_answer(kind, result))
    determined = {
        q: as_people_answer(answer(case, result, rng), rng) for q, (case, result) in variant.items()
    }
    return Sheet(determined, {i: _option(item, kind, rng) for i, item in items.items()})


def half_hearted(
    kind: str, part: float, variant: Variant, items: Mapping[str, Item], rng: Generator
) -> Sheet:
    """Somebody who follows a belief in this part of the questions, and is careful in the others."""
    believes, careful = (sheet_of(one, variant, items, rng) for one in (kind, CAREFUL))
    return _mixed(believes, careful, part, rng)


def _mixed(one: Sheet, other: Sheet, part: float, rng: Generator) -> Sheet:
    return Sheet(
        {q: (one if rng.random() < part else other).determinations[q] for q in one.determinations},
        {i: (one if rng.random() < part else other).options[i] for i in one.options},
    )


_ANSWERS: dict[str, Callable[[GradedCase, Reconciliation, Generator], Determination]] = {
    CAREFUL: lambda case, result, rng: careful_answer(result),
    BY_HAND: lambda case, result, rng: habits.careful(case, rng),
    **{
        one: (lambda case, result, rng: careful_answer(result))
        for one in BELIEFS
        if one not in BELIEVERS
    },
}


def as_people_answer(exact: Determination, rng: Generator) -> Determination:
    """An answer as somebody writes it down: read, rounded, and now and then slipped."""
    if exact.working_length_mm is None:
        slips = exact.next_step in _STEPS and rng.random() < SLIPS
        return replace(exact, next_step=str(rng.choice(_STEPS))) if slips else exact
    off, middle = rng.normal(0, READS_MM, 2)
    width = np.exp(rng.normal(0, WIDTH_LOG))
    given: dict[str, float] = {}
    if exact.low_mm is not None and exact.high_mm is not None:
        half = width * (exact.high_mm - exact.low_mm) / 2
        centre = (exact.high_mm + exact.low_mm) / 2 + middle
        low = round(centre - half, 1)
        given = {"low_mm": low, "high_mm": max(round(centre + half, 1), round(low + 0.1, 1))}
    length = round((exact.working_length_mm + off) / STEP_MM) * STEP_MM
    return replace(exact, working_length_mm=length, **given)


def _option(item: Item, kind: str, rng: Generator) -> int:
    options = item.options
    if rng.random() < SLIPS:
        return int(rng.integers(len(options)))
    held = [i for i, one in enumerate(options) if one.misconception == kind]
    return (held or [i for i, one in enumerate(options) if one.correct])[0]


def _guessed(variant: Variant, items: Mapping[str, Item], rng: Generator) -> Sheet:
    """Not yet in three canals of ten; else a length near one of the sources, however it came."""
    determined = {}
    for question, (_, result) in variant.items():
        if rng.random() < 0.3:
            determined[question] = Determination(next_step=str(rng.choice(_STEPS)))
            continue
        near = float(rng.choice(list(implied_lengths_mm(result.evidence).values())))
        foramen = near + rng.normal(0, 0.75)
        half = rng.uniform(0.2, 1.5)
        length = round((foramen - result.loss.target_mm) / STEP_MM) * STEP_MM
        determined[question] = Determination(
            round(foramen, 1), length, round(foramen - half, 1), round(foramen + half, 1), "confirm"
        )
    return Sheet(determined, {i: int(rng.integers(len(one.options))) for i, one in items.items()})


def outcome_of(sheet: Sheet, variant: Variant, items: Mapping[str, Item]) -> Outcome:
    """Marked and diagnosed, as `mark_cells` does it; explanations are left out by the tests."""
    marked = {
        question: mark_weighed(given, variant[question][1])
        for question, given in sheet.determinations.items()
    }
    for name, option in sheet.options.items():
        as_it_stands = ShuffledItem(items[name], tuple(range(len(items[name].options))))
        marked[name] = mark_item(as_it_stands, "ABCDEF"[option])
    work = [(name, clue) for name, marks in marked.items() for clue in marks.clues]
    return Outcome(
        {name: marks.share for name, marks in marked.items()},
        tuple(one.misconception for one in named_in(work)),
        {question: case.trap for question, (case, _) in variant.items()},
    )


def canal_points(sheet: Sheet, variant: Variant) -> float:
    """Of twelve: what the ten canals earn."""
    return DETERMINATION_POINTS * sum(
        mark_weighed(given, variant[question][1]).share
        for question, given in sheet.determinations.items()
    )
