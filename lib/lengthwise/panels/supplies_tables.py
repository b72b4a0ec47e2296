"""The tables of lesson 07, all computed: what reaches, what was published, what the loss counts."""

from __future__ import annotations

from lengthwise.evidence import Context
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.case_view import Written
from lengthwise.panels.endings_picture import ROWS
from lengthwise.panels.supplies_words import too_long_in_100
from lengthwise.reconciliation.decision import Loss
from lengthwise.reconciliation.supplies import SuppliesPlan, longest_reached_mm
from lengthwise.reference import constants as c
from lengthwise.reference import supplies as s
from lengthwise.reference.findings import (
    Outcome,
    OutcomeEffect,
    outcome_effects,
    outcome_group,
    outcomes,
)
from lengthwise.reference.quantity import Quantity
from lengthwise.reference.supplies import supplies
from lengthwise.reference.tables import apex_distance

FRONT, BACK = "13", "16"
ENDS_MM = (3.0, 2.0, 1.0, 0.5, 0.0, -0.2, -0.6, -1.0)
TARGET_MM = c.TARGET_SHORT_OF_FORAMEN_MM.value


def reach_table() -> Sheet:
    """How long a canal each instrument and point serves, and how many upper canines are longer."""
    rows = []
    for one in supplies():
        by_handpiece = _mm(longest_reached_mm(one, "handpiece")) if one.kind == "file" else "–"
        too_long = f"{too_long_in_100(FRONT, one, TARGET_MM)}"
        rows.append((one.name, _mm(longest_reached_mm(one)), by_handpiece, too_long))
    heads = ("In the drawer", "by hand, to", "by handpiece, to", "Too short for")
    caption = "Longest working length it serves (mm); too short for how many of 100 upper canines"
    return Sheet(caption, heads, tuple(rows))


def assumed_table() -> Sheet:
    """What has to stay outside the tooth, and how uncertain that is."""
    return _quantities(
        "What has to stay outside the tooth: assumptions (mm)",
        {
            "a stop": s.STOP_MM,
            "fingers, beside the stop": s.FINGERS_MM,
            "a handpiece, beside the stop": s.HANDPIECE_MM,
            "tweezers, on a point": s.TWEEZERS_MM,
            "a point's own length, either way": s.POINT_LENGTH_SPREAD_MM,
        },
    )


def canine_table(plan: SuppliesPlan) -> Sheet:
    """Everything laid against one working length."""
    rows = tuple(
        (
            one.supply.name,
            f"{_mm(abs(one.left_mm))} {'below' if one.left_mm < 0 else 'above'}",
            one.verdict,
        )
        for one in plan.reaches
    )
    caption = f"A canine of {_mm(plan.working_length_mm)} mm working length"
    return Sheet(caption, ("In the drawer", "Its end, from the reference (mm)", "Verdict"), rows)


def landmarks_table() -> Sheet:
    """One ending, two landmarks: what studies would count it as, in front and back teeth."""
    rows = []
    for end in ENDS_MM:
        row = [_end(end)]
        for fdi in (FRONT, BACK):
            from_apex = end + apex_distance(fdi).mean_mm
            row.append(f"{_end(from_apex, digits=2)} → {ROWS[outcome_group(from_apex)]}")
        rows.append(tuple(row))
    caption = "From the foramen; from the radiographic apex → group of the studies (mm)"
    return Sheet(caption, ("Foramen", "Apex, front tooth", "Apex, back tooth"), tuple(rows))


def outcomes_table() -> Sheet:
    """One row a study and group; nothing merged."""
    rows = tuple(
        (
            f"{one.study} {one.year}: {one.pulp}",
            ROWS[one.group],
            f"{one.healed_percent:g}"
            + (f" ± {100 * one.plus_minus_share:.3g}" if one.plus_minus_share else ""),
        )
        for one in outcomes()
    )
    heads = ("Study and pulp", "Filling ended", "Healed, of 100")
    return Sheet("Counted from the radiographic apex (mm)", heads, rows)


def studies() -> Written:
    """Whose teeth were counted, one line a study and treatment."""
    lines = dict.fromkeys(
        f"{one.source}: {one.sample}; {one.pulp}; {_treatment(one)}" for one in outcomes()
    )
    return Written("Whose teeth were counted", tuple(lines))


def _treatment(one: Outcome) -> str:
    return {
        "primary": "first treatment",
        "retreatment": "treatment done again",
        "mixed": "treatments not told apart",
    }[one.treatment]


def effects() -> Written:
    """Odds, best ends and differences that studies printed, beside each other."""
    chosen = [one for one in outcome_effects() if one.measure != "share"]
    return Written(
        "What else is published",
        tuple(f"{_capital(one.what)}: {_effect(one)} ({one.source})"
              for one in chosen),
    )  # fmt: skip


def loss_table() -> Sheet:
    """The loss by ending, for three kinds of case.

    >>> loss_table().rows[-1]
    ('1.0 past', '6.25', '6.25', '10.25')
    """
    cases = (
        Context(pulp="vital"),
        Context(pulp="necrotic"),
        Context(pulp="vital", near_nerve_or_sinus=True),
    )
    losses = [Loss.for_context(case, TARGET_MM) for case in cases]
    rows = tuple(
        (_end(end), *(f"{float(loss.cost(-end, 0.0)):.2f}" for loss in losses)) for end in ENDS_MM
    )
    heads = ("Ends, from the foramen (mm)", "Vital pulp", "Necrotic", "Vital, nerve or sinus near")
    return Sheet("What the loss of this course counts (target 0.5 mm)", heads, rows)


def weights_table() -> Sheet:
    """The weights: judgements, each with the range it may lie in."""
    return _quantities(
        "The weights of the loss, for each millimetre: judgements",
        {
            "short: short of the target": c.LOSS_SHORT_PER_MM,
            "long: longer than the target": c.LOSS_LONG_PER_MM,
            "past: past the foramen, added": c.LOSS_PAST_PER_MM,
            "past, nerve or sinus near": c.LOSS_PAST_NEAR_NERVE_PER_MM,
            "far short: over 2 mm, necrotic, added": c.LOSS_FAR_SHORT_NECROTIC_PER_MM,
            "far short, pulp not recorded": c.LOSS_FAR_SHORT_OTHER_PER_MM,
        },
    )


def _quantities(caption: str, named: dict[str, Quantity]) -> Sheet:
    rows = tuple(
        (name, f"{one.value:g}", f"{one.low:g} to {one.high:g}") for name, one in named.items()
    )
    return Sheet(caption, ("What", "Value", "May lie from"), rows)


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _effect(one: OutcomeEffect) -> str:
    unit = {"odds ratio": "odds times {}", "mm": "{} mm", "difference of shares": "{}"}
    if one.value is None:
        return unit[one.measure].format(f"{one.low:g} to {one.high:g}")
    if one.low is None:
        return unit[one.measure].format(f"about {100 * one.value:g} of 100")
    return unit[one.measure].format(f"{one.value:g} ({one.low:g} to {one.high:g})")


def _mm(length_mm: float) -> str:
    return f"{length_mm:.1f}"


def _end(short_mm: float, digits: int = 1) -> str:
    if short_mm == 0:
        return "at it"
    return f"{abs(short_mm):.{digits}f} {'short' if short_mm > 0 else 'past'}"
