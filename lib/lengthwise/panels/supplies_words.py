"""What the pictures of lesson 07 show, in numbers."""

from __future__ import annotations

import numpy as np

from lengthwise.panels.landmarks_panel import population
from lengthwise.reconciliation.decision import Loss
from lengthwise.reconciliation.supplies import SuppliesPlan, longest_reached_mm
from lengthwise.reference.findings import Group, Outcome, outcome_group, outcomes
from lengthwise.reference.supplies import Hold, Kind, Supply, supplies

POINTS: tuple[Kind, ...] = ("gutta-percha point", "absorbent point")
HELD: dict[Hold, str] = {"fingers": "stop and fingers", "handpiece": "stop and handpiece",
                         "tweezers": "tweezers"}  # fmt: skip
IN_WORDS: dict[Group, str] = {
    "0-2 short": "0 to 2 mm short",
    "past": "past the apex",
    "over 2 short": "more than 2 mm short",
}


def usual_point() -> Supply:
    """The gutta-percha point of the length that most kinds have: the longest of the table."""
    mine = (one for one in supplies() if one.kind == "gutta-percha point")
    return max(mine, key=lambda one: one.length_mm)


def too_long_in_100(
    fdi: str,
    supply: Supply,
    target_mm: float,
    *,
    reduced_mm: float = 0.0,
    held_by: Hold = "fingers",
) -> int:
    """Of 100 teeth of a kind, how many have a working length that a supply does not serve.

    >>> 30 < too_long_in_100("13", usual_point(), 0.5) < 50
    True
    """
    lengths = population(fdi).foramen_mm - target_mm - reduced_mm
    return round(100 * float(np.mean(lengths > longest_reached_mm(supply, held_by))))


def supplies_sentence(fdi: str, plan: SuppliesPlan, target_mm: float, reduced_mm: float) -> str:
    """What reaches, with what is left to hold, and what is done first if something does not."""
    point = usual_point()
    count = too_long_in_100(fdi, point, target_mm, reduced_mm=reduced_mm)
    steps = plan.steps
    todo = f" Then: {_small(steps[0].what)}." if steps else ""
    are = "is" if count == 1 else "are"
    return (
        f"Working length {plan.working_length_mm:.1f} mm. {_files(plan)} {_points(plan)}{todo} "
        f"Of 100 such teeth, {count} {are} too long for a point of {point.length_mm:g} mm."
    )


def _files(plan: SuppliesPlan) -> str:
    chosen, longest = plan.chosen("file"), plan.of("file")[-1]
    held = HELD[longest.held_by]
    if chosen is None:
        return (
            f"No file has room for {held} ({longest.needed_mm:.1f} mm): the longest leaves "
            f"{longest.left_mm:.1f} mm."
        )
    return (
        f"The shortest file that reaches is {chosen.supply.length_mm:g} mm: "
        f"{chosen.left_mm:.1f} mm stays outside, and {held} need {chosen.needed_mm:.1f}."
    )


def _points(plan: SuppliesPlan) -> str:
    longest = plan.of("gutta-percha point")[-1]
    end = "below" if longest.left_mm < 0 else "above"
    said = (
        f"A gutta-percha point of {longest.supply.length_mm:g} mm ends "
        f"{abs(longest.left_mm):.1f} mm {end} the reference"
    )
    return {
        "reaches": f"{said}: enough to hold.",
        "measure it": f"{said}, and tweezers need {longest.needed_mm:.1f}: too close to tell "
        "without measuring it.",
        "too short to hold": f"{said}, and tweezers need {longest.needed_mm:.1f} above it: no "
        "point here serves.",
        "does not reach": f"{said}: no point here serves.",
    }[longest.verdict]


def ending_sentence(short_of_foramen_mm: float, apex_beyond_mm: float, loss: Loss) -> str:
    """Where a filling ends by both landmarks, what studies found there, what the loss counts."""
    from_apex = short_of_foramen_mm + apex_beyond_mm
    group = outcome_group(from_apex)
    found = "; ".join(_found(one) for one in outcomes() if one.group == group)
    cost = float(loss.cost(-short_of_foramen_mm, 0.0))
    return (
        f"The filling ends {_from(short_of_foramen_mm, 'foramen')} and "
        f"{_from(from_apex, 'radiographic apex')}: the studies count it as {IN_WORDS[group]}. "
        f"Healed there: {found}. This course's loss counts {cost:.2f}, a judgement."
    )


def _found(one: Outcome) -> str:
    return f"{one.healed_percent:g} % ({one.study} {one.year}, {one.pulp})"


def _from(short_mm: float, landmark: str) -> str:
    if abs(short_mm) < 0.05:
        return f"at the {landmark}"
    way = "short of" if short_mm > 0 else "past"
    return f"{abs(short_mm):.1f} mm {way} the {landmark}"


def _small(text: str) -> str:
    return text[0].lower() + text[1:]
