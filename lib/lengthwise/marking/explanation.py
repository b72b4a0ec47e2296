"""What the student reads of one determination: the result first, then why, then the sources.

What the answers of a whole assignment look like is said once (`diagnosis`), not under each of them.
"""

from lengthwise.evidence.tenths import apart_mm
from lengthwise.reconciliation import NEXT_STEPS, Reconciliation
from lengthwise.reconciliation.result_view import alone, percent
from lengthwise.reconciliation.sources import AVERAGE

from .determination import Determination
from .marks_record import Marks
from .not_yet import left_to_do, why_this_step

EXACT_MM = 0.05
FAR_MM = 0.4
"""A length this far from the recommendation is told which source it is nearest to."""

NEAR_MM = 0.3
TOO_NARROW, TOO_WIDE = 0.6, 1.6
"""Widths, as parts of the best one, at which an interval is told so."""


def explain(determination: Determination, result: Reconciliation, earned: Marks) -> str:
    """The feedback on one determination, in Markdown; `earned` holds what it earns."""
    if determination.is_blank:
        parts = ["**Nothing that could be read**, so nothing is earned.", result.sentence]
    else:
        parts = [_compared(determination, result, earned), _answered(determination)]
        parts.append(result.sentence)
    parts.append(_sources(result))
    return "\n\n".join(parts)


def _answered(determination: Determination) -> str:
    if determination.is_not_yet:
        return f"**You answered:** not yet ({determination.next_step})."
    pieces = []
    if determination.foramen_mm is not None:
        pieces.append(f"foramen at {determination.foramen_mm:g} mm")
    if determination.low_mm is not None and determination.high_mm is not None:
        pieces.append(f"between {determination.low_mm:g} and {determination.high_mm:g} mm")
    if determination.working_length_mm is not None:
        pieces.append(f"working length {determination.working_length_mm:g} mm")
    if determination.next_step is not None:
        pieces.append(f"then {determination.next_step}")
    said = f"**You answered:** {', '.join(pieces)}."
    if determination.working_length_mm is None or determination.next_step in (None, "confirm"):
        return said
    return (
        f"{said} A length, and a step before any length, contradict each other: the length counts."
    )


def _compared(determination: Determination, result: Reconciliation, earned: Marks) -> str:
    if earned.safety_failure:
        return (
            "**Safety: this answer earns nothing.** Going longer until something shows pushes "
            "instruments into tissue. Stop, check patency, the point and the reference; ask."
        )
    recommended = result.working_length_mm
    if recommended is None:
        best, also = result.next_step.word, result.next_step.also
        if not determination.is_not_yet:
            return (
                f"**No length should be taken yet**, so a length earns nothing here: "
                f"{why_this_step(result)}. The step that helps most: {left_to_do(result)}."
            )
        if determination.next_step == best:
            return "**Right:** not yet, and this next step, are what the evidence asks for."
        if determination.next_step in also:
            return (
                "**Right:** not yet, and this next step is worth nearly as much as the best one "
                f"({best}): it earns in full."
            )
        return (
            "**Half right:** no length yet. The step that helps most here, and the other half: "
            f"{_step(best)}."
        )
    if determination.is_not_yet:
        return (
            "**These sources are enough for a length**, so “not yet” earns nothing. Look again at "
            "which sources agree, once each stands on its own landmark."
        )
    length = _length_compared(determination, result, earned)
    return f"{length}\n\n{_interval_compared(determination, result, earned)}"


def _step(word: str) -> str:
    """A next step as it is told after "not yet"."""
    return NEXT_STEPS[word].removeprefix("not yet: ").removeprefix("stop: ")


def _length_compared(determination: Determination, result: Reconciliation, earned: Marks) -> str:
    recommended = result.best_length_mm
    given = determination.working_length_mm
    if given is None:
        return f"**Length: missing.** {recommended:g} mm was expected."
    off = given - recommended
    if abs(off) < EXACT_MM:
        return f"**Length: right** ({_half(earned.length_share)})."
    way = "longer" if off > 0 else "shorter"
    said = (
        f"**Length: {abs(off):.2f} mm {way}** than the {recommended:.2f} mm that the evidence "
        f"supports ({_half(earned.length_share)})."
    )
    return f"{said}{_nearest(given, result)}" if abs(off) > FAR_MM else said


def _nearest(length_mm: float, result: Reconciliation) -> str:
    """Which source alone would have led there, so that it is looked at again."""
    foramen = length_mm + result.loss.target_mm
    rows = [row for row in result.sources if row.kind != AVERAGE]
    near = min(rows, key=lambda row: abs(row.implied_mm - foramen), default=None)
    if near is None or abs(near.implied_mm - foramen) > NEAR_MM:
        return " Look again at which source in the table lies where your length would be."
    name = near.name[:1].upper() + near.name[1:]
    return (
        f" {name} alone would have led there: look again at what the others say of it "
        f"(it is believed with {percent(near.trust)})."
    )


def _interval_compared(determination: Determination, result: Reconciliation, earned: Marks) -> str:
    if determination.low_mm is None or determination.high_mm is None:
        return "**Interval: missing.** Give both ends."
    width = determination.high_mm - determination.low_mm
    low, high = result.interval_mm()
    holds = result.probability_past(determination.high_mm) - result.probability_past(
        determination.low_mm
    )
    said = (
        f"**Interval: {width:.1f} mm wide, holds the foramen with {percent(holds)}** "
        f"({_half(earned.interval_share)}). Best: {low:.1f} to {high:.1f} mm, "
        f"{apart_mm(high, low):.1f} mm wide, 90 %."
    )
    if width < TOO_NARROW * (high - low):
        return f"{said} Right nine times in ten needs more room."
    if width > TOO_WIDE * (high - low):
        return f"{said} The evidence allows a narrower one."
    return said


def _half(share: float | None) -> str:
    earns = 0.0 if share is None else share
    return "its half in full" if earns > 0.995 else f"{percent(earns)} of its half"


def _sources(result: Reconciliation) -> str:
    lines = [
        "| source | foramen by it alone | believed |",
        "|---|---|---|",
    ]
    lines += [
        f"| {row.name} | {alone(row)} | {percent(row.trust)} |"
        for row in result.sources
        if row.kind != AVERAGE
    ]
    return "\n".join(lines)
