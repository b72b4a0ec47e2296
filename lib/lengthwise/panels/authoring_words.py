"""What the authoring page says of a case: what is right, and what each belief would answer."""

from __future__ import annotations

from lengthwise.marking.believers import BELIEVERS, believers_answer, careful_answer
from lengthwise.marking.determination import Determination
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.marks import mark_weighed
from lengthwise.marking.misconceptions import MISCONCEPTIONS
from lengthwise.marking.sheet import Sheet
from lengthwise.reconciliation import Reconciliation

HEADS = ("Who", "Working length", "Ends between (mm)", "Marks")
CAREFUL = "careful throughout: what the sources support"
TELLS_APART = 0.5
"""A belief that gets less than this share of the marks is plainly told apart by the case."""


def truth_words(case: GradedCase, result: Reconciliation) -> str:
    """Say where the canal ends in truth, what is recommended, and whether the sources mislead."""
    low, high = result.interval_mm()
    said = f"In truth the canal ends at {case.foramen_mm:.1f} mm.\n{result.sentence}"
    if not low <= case.foramen_mm <= high and not result.reasons_to_ask:
        said += f"\nThe truth lies outside {low:.1f} to {high:.1f} mm: the sources mislead here."
    return f"{said}\nMarks go by what the sources support, never by the truth."


def beliefs_sheet(result: Reconciliation) -> Sheet:
    """What each belief that shows in this case would answer, and what it would get for it."""
    rows = [_row(CAREFUL, careful_answer(result), result)]
    rows += [
        _row(f"{name}: {MISCONCEPTIONS[name].belief}", believers_answer(name, result), result)
        for name in showing(result)
    ]
    return Sheet("Everybody careful in all but one belief", HEADS, tuple(rows))


def showing(result: Reconciliation) -> list[str]:
    """The beliefs that change the answer of somebody who is careful otherwise."""
    careful = careful_answer(result)
    return [name for name in BELIEVERS if believers_answer(name, result) != careful]


def beliefs_words(result: Reconciliation) -> str:
    """Say which beliefs the case tells apart from care, and which do not come up."""
    shown = showing(result)
    costly = [
        name
        for name in shown
        if mark_weighed(believers_answer(name, result), result).share < TELLS_APART
    ]
    silent = [name for name in BELIEVERS if name not in shown]
    told = f"Less than half the marks: {', '.join(costly) or 'nobody'}."
    return f"{told} Answers as if careful: {', '.join(silent) or 'nobody'}."


def _row(who: str, answer: Determination, result: Reconciliation) -> tuple[str, ...]:
    marks = f"{mark_weighed(answer, result).share:.0%}".replace("%", " %")
    if answer.working_length_mm is None:
        return who, f"not yet: {answer.next_step}", "–", marks
    between = f"{answer.low_mm:.1f} to {answer.high_mm:.1f}"
    return who, f"{answer.working_length_mm:.2f} mm", between, marks
