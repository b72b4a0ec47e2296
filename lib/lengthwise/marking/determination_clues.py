"""What a determination says of the student behind it.

A length counts for a belief where it is near to what the belief leads to and far from what the
evidence supports; both are given the same spread, so that a belief that leads to the right length
gains nothing from it.
"""

import numpy as np

from lengthwise.reconciliation import NEXT_STEPS, Reconciliation
from lengthwise.reconciliation.next_step import UNSAFE_STEPS

from .beliefs import BELIEFS
from .believers import PAST_MM, stays_dry
from .clues import Clue, follows
from .determination import Determination

STRAYS_MM = 0.25
"""How far a length strays from what somebody goes by: reading, rounding to a quarter, habit."""

SUPPOSED_MM = 1.3
"""How far lengths stray that go by nothing in particular."""

NOT_YET = tuple(word for word in NEXT_STEPS if word != "confirm")
TAKES_LENGTH = 0.97
"""So often a careful student takes a length where the evidence supports one."""

NEVERTHELESS = 0.05
"""So often a careful student takes a length where it does not."""

RIGHT_STEP, UNSAFE = 0.8, 0.002
"""How often a careful student who takes no length says the right step, or one that could hurt."""

BY_CHANCE = 0.6
"""So often somebody who answers at random takes a length."""

CAREFUL_LOG_WIDTH, NARROW_LOG_WIDTH, ANY_LOG_WIDTH = (-0.05, 0.35), (-2.2, 0.7), (-0.2, 1.0)
"""Mean and spread of the log of an interval's width over that of the best one."""

CLOSE_MM = 0.4
"""What is shown to the student as evidence is at least this close to what a belief leads to."""


def clues_of(determination: Determination, result: Reconciliation) -> tuple[Clue, ...]:
    """The clues of a determination: its length or "not yet", and the width of its interval."""
    clues = []
    if determination.working_length_mm is not None:
        clues.append(_length_clue(determination.working_length_mm, result))
    elif determination.is_not_yet:
        clues.append(_step_clue(str(determination.next_step), result))
    low, high = determination.low_mm, determination.high_mm
    if result.working_length_mm is not None and low is not None and high is not None:
        clues.append(_width_clue(high - low, result))
    return tuple(clues)


def _normal(value: float, mean: float, sd: float) -> float:
    return float(np.exp(-0.5 * ((value - mean) / sd) ** 2) / (sd * np.sqrt(2 * np.pi)))


def _length_clue(length_mm: float, result: Reconciliation) -> Clue:
    best = result.best_length_mm
    supposed = _normal(length_mm, best, SUPPOSED_MM)
    if result.working_length_mm is None:
        careful = NEVERTHELESS * supposed
    else:
        careful = TAKES_LENGTH * _normal(length_mm, best, STRAYS_MM)
    believed, seen = {}, {}
    for one, (leads_to_mm, words) in led_to(result).items():
        believed[one] = follows(_normal(length_mm, leads_to_mm, STRAYS_MM), careful)
        if abs(length_mm - leads_to_mm) <= CLOSE_MM:
            seen[one] = _told(length_mm, leads_to_mm, words, result)
    return Clue(careful, BY_CHANCE * supposed, believed, seen)


def led_to(result: Reconciliation) -> dict[str, tuple[float, str]]:
    """The working length (mm) that each belief leads to, and what it goes by."""
    target = result.loss.target_mm
    found = {
        name: (foramen - target, belief.words)
        for name, belief in BELIEFS.items()
        if (foramen := belief.foramen_mm(result.evidence)) is not None
    }
    if result.working_length_mm is not None:
        found["M9"] = (result.foramen_mm + PAST_MM, "a point past the foramen")
    return found


def _told(length_mm: float, leads_to_mm: float, words: str, result: Reconciliation) -> str:
    supports = (
        "the evidence supports no length yet"
        if result.working_length_mm is None
        else f"the evidence supports {result.best_length_mm:.2f} mm"
    )
    if words == "a point past the foramen":
        past = length_mm - result.foramen_mm
        ends = "past where the canal most likely ends"
        return f"{length_mm:.2f} mm is {past:.1f} mm {ends}; {supports}."
    within = max(abs(length_mm - leads_to_mm), 0.1)
    return f"{length_mm:.2f} mm is within {within:.1f} mm of what {words} leads to; {supports}."


def _step_clue(word: str, result: Reconciliation) -> Clue:
    """What “not yet” says: it speaks against every belief that leads to a length."""
    if result.working_length_mm is not None:
        careful = (1 - TAKES_LENGTH) / len(NOT_YET)
    else:
        right = (result.next_step.word, *result.next_step.also)
        share = RIGHT_STEP / len(right), (1 - RIGHT_STEP) / (len(NOT_YET) - len(right))
        careful = (1 - NEVERTHELESS) * share[word not in right]
    if word in UNSAFE_STEPS:
        careful = UNSAFE
    believed = {one: follows(0.0, careful) for one in led_to(result) if one != "M9"}
    seen = {}
    if stays_dry(result):
        believed["M13"] = follows(float(word == "longer"), careful)
        if word == "longer":
            seen["M13"] = "every point came out dry, and you go on longer."
    return Clue(careful, (1 - BY_CHANCE) / len(NOT_YET), believed, seen)


def _width_clue(width_mm: float, result: Reconciliation) -> Clue:
    low, high = result.interval_mm()
    log_width = float(np.log(max(width_mm, 0.01) / (high - low)))
    careful, narrow, anything = (
        _normal(log_width, *one) for one in (CAREFUL_LOG_WIDTH, NARROW_LOG_WIDTH, ANY_LOG_WIDTH)
    )
    told = f"your interval is {width_mm:.1f} mm wide; the evidence needs {high - low:.1f} mm."
    return Clue(careful, anything, {"M11": follows(narrow, careful)}, {"M11": told})
