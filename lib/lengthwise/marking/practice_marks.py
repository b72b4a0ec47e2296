"""What a practice case earns, and the words about it.

A length or "stop and ask" ends a case and is marked on the evidence that was gathered, as in the
assignments. A step that can be taken at once does not end it: it is compared with what the
evidence asks for, and the case goes on; one that would not help costs a part of the marks. So
does asking while a step is left: whoever is asked says which, and nobody loses more by asking.
"""

from dataclasses import dataclass

from lengthwise.evidence import PointTrial
from lengthwise.reconciliation import NEXT_STEPS, Reconciliation, reconcile
from lengthwise.reconciliation.next_step import UNSAFE_STEPS
from lengthwise.reference import practice as q

from .clues import Clue
from .determination import Determination
from .marks import mark_weighed
from .practice_cautions import safety_words
from .practice_chair import Sitting
from .practice_kinds import KINDS
from .practice_ways import WAYS
from .rounds_signs import why_not_dry

TARGET_MM = 0.5
LUCK_MM = 0.3
"""A length this near to where it should be came out well."""

POSSIBLE_STEPS = ("film", "reading", "points")
"""Next steps that are taken on this bench; the others end a case."""

ROUNDS = 3
"""A canal that so many rounds of drying leave wet will not be dry today (common practice: two or
three)."""


@dataclass(frozen=True)
class Verdict:
    """What a case earned.

    Attributes
    ----------
    share : 0 to 1.
    said : what was expected and what to look at again, a paragraph a line.
    truth : what the invented tooth was like, a paragraph a line.
    result : what the evidence supports.
    clues : what the answer says of the student's beliefs.
    """

    share: float
    said: str
    truth: str
    result: Reconciliation
    clues: tuple[Clue, ...]


def propose(sitting: Sitting, step: str) -> tuple[bool, str]:
    """Whether a step is what the evidence asks for now, and the words about it.

    Parameters
    ----------
    sitting : the case with what was done.
    step : one of `POSSIBLE_STEPS`, or "ask", which ends the case where it is right.

    Examples
    --------
    >>> from lengthwise.marking.practice_ways import begin
    >>> propose(begin("plain", 1), "film")[0]
    False
    """
    result = reconcile(sitting.evidence(), target_mm=TARGET_MM)
    if step == "ask":
        return _asked(sitting, result)
    best, also = result.next_step.word, result.next_step.also
    if step in (best, *also):
        return True, "This is what the evidence asks for. Do it now: the bench is open."
    return False, f"{_look_again(sitting, best)} {_COST}"


_COST = f"{round(100 * q.MISSTEP_COST.value)} % of this case's marks are lost."


def _asked(sitting: Sitting, result: Reconciliation) -> tuple[bool, str]:
    share, words = _stopped(sitting, result)
    if share:
        return True, words
    left = "the sources are enough for a length: answer with one."
    if result.working_length_mm is None:
        left = f"{_left(result)}.{_rounds(result.next_step.word)}"
    return False, (
        "Asking is never unsafe. Your supervisor looks at what you have and says what is still to "
        f"do: {left} The case goes on. {_COST}"
    )


def _left(result: Reconciliation) -> str:
    return NEXT_STEPS[result.next_step.word].removeprefix("not yet: ")


def _rounds(step: str) -> str:
    if step != "points":
        return ""
    return f" Up to {ROUNDS} rounds of drying and points; if it is wet still, stop."


def _look_again(sitting: Sitting, best: str) -> str:
    if best == "confirm":
        return (
            "What you have is enough for a length. Look again at which sources agree, once each "
            "stands on its own landmark."
        )
    if best == "ask":
        return "No more measuring settles this. Look again at what was found, and stop."
    taken = [each for each in sitting.evidence().records if each.kind == _RECORDS[best]]
    where = _AGAIN[best] if taken else _FIRST[best]
    last = taken[-1] if taken else None
    if isinstance(last, PointTrial) and last.liquid_in_canal != "dry":
        where = "whether the canal was dry when the last points were tried."
    return (
        f"It can be done, but another step is worth more now. Look again at {where}{_rounds(best)}"
    )


_RECORDS = {"film": "working_film", "reading": "electronic_reading", "points": "point_trial"}
_FIRST = {
    "film": "what a file inside would show on a radiograph: none has been taken yet.",
    "reading": "what the file's own signal would say: no electronic reading has been taken yet.",
    "points": "what paper would say of a dry canal: no point has been tried yet.",
}
_AGAIN = {
    "film": "what the radiograph with a file shows, and what one more would add.",
    "reading": "whether the last reading is steady, follows the file, and comes again.",
    "points": "what the last points leave open: where they met fluid, and whether the marks agree.",
}


def verdict(sitting: Sitting, determination: Determination, missteps: int = 0) -> Verdict:
    """Mark what ends a case.

    Parameters
    ----------
    sitting : the case with what was done.
    determination : a length with its interval, "ask", or what could hurt somebody.
    missteps : steps that were proposed before and would not have helped.

    Examples
    --------
    >>> from lengthwise.marking.practice_ways import begin
    >>> verdict(begin("plain", 1), Determination(next_step="longer")).share
    0.0
    """
    result = reconcile(sitting.evidence(), target_mm=TARGET_MM)
    marks = mark_weighed(determination, result)
    share, more = marks.share, _plain(marks.explanation, result.sentence)
    if determination.next_step == "ask" and determination.is_not_yet:
        share, words = _stopped(sitting, result)
        more = [words]
    unsafe = dict.fromkeys(WAYS[each.act.word].words for each in sitting.own if each.unsafe)
    if determination.next_step in UNSAFE_STEPS or unsafe:
        share = 0.0
    if unsafe:
        more.append(
            f"Safety: you chose {' and '.join(unsafe)}; it was refused, because it could hurt "
            "somebody. The case earns nothing."
        )
    if missteps and share:
        kept = max(0.0, 1 - missteps * q.MISSTEP_COST.value)
        share *= kept
        more.append(
            f"{'Once' if missteps == 1 else f'{missteps} times'} before you proposed a step that "
            f"would not have helped, or asked while one was left; {round(100 * kept)} % of the "
            "marks are left."
        )
    said = "\n".join([f"This case earns {round(100 * share)} of 100.", *more])
    return Verdict(share, said, _truth(sitting, determination, result), result, marks.clues)


def _stopped(sitting: Sitting, result: Reconciliation) -> tuple[float, str]:
    """Stop and ask: right where the evidence says so, or where the canal stays wet."""
    why = stays_wet(sitting)
    if why:
        return 1.0, f"Stopping is right: {why}. No length is taken today; that is a result."
    if "ask" in (result.next_step.word, *result.next_step.also):
        return 1.0, "Stopping is right here."
    if result.working_length_mm is not None:
        return 0.0, "Nothing here asks for somebody else: the sources are enough for a length."
    return 0.0, (
        f"Asking is never unsafe, but a step was left that you can take yourself ({_left(result)})."
    )


def stays_wet(sitting: Sitting) -> str:
    """Why this canal will not be dry today; empty where that cannot be said yet.

    A round is drying, then points.
    """
    rounds, dried, tried = 0, False, list[PointTrial]()
    visit = sitting.done[-1].visit if sitting.done else 1
    for each in sitting.done:
        if each.visit != visit or not (each.redried or isinstance(each.record, PointTrial)):
            continue
        if each.redried:
            dried = dried or each.act.word == "dry"
            tried = []
        if isinstance(each.record, PointTrial):
            rounds += dried
            dried = False
            tried.append(each.record)
    if rounds < ROUNDS:
        return ""
    if sitting.done[-1].bleeding != "none":
        return f"it still bleeds after {rounds} rounds of drying"
    wet = why_not_dry(tried) if sum(each.wet_mm > 0 for each in tried) > 1 else ""
    return f"after {rounds} rounds of drying, {wet}" if wet else ""


def _plain(explanation: str, of_all: str) -> list[str]:
    """Paragraphs without the marks of Markdown, and without what the ruler says and shows."""
    parts = [part.replace("**", "").replace("*", "") for part in explanation.split("\n\n")]
    return [
        " ".join(part.split())
        for part in parts
        if part and not part.startswith("|") and part != of_all
    ]


def _truth(sitting: Sitting, determination: Determination, result: Reconciliation) -> str:
    foramen = sitting.patient.canal.foramen_mm
    parts = [
        f"In truth the foramen of this invented tooth lies at {foramen:.1f} mm, and "
        f"{KINDS[sitting.case.kind].told}."
    ]
    if KINDS[sitting.case.kind].disturbed:
        righted = any(each.act.word == "prepare" for each in sitting.own)
        parts.append("You put that right." if righted else "You did not put that right.")
    low, high = determination.low_mm, determination.high_mm
    if low is not None and high is not None:
        inside = low <= foramen <= high
        off = max(low - foramen, foramen - high)
        parts.append(
            "Your interval holds it." if inside else f"Your interval misses it by {off:.1f} mm."
        )
    length = determination.working_length_mm
    if length is not None:
        short = foramen - length
        side = "short of" if short >= 0 else "past"
        parts.append(f"Your working length is {abs(short):.1f} mm {side} it.")
        if result.working_length_mm is None and abs(short - TARGET_MM) <= LUCK_MM:
            parts.append("That it came out well was luck: what you had did not show it.")
    return "\n".join(filter(None, [" ".join(parts), safety_words(sitting)]))
