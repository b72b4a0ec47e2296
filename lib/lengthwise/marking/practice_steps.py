"""A step that is proposed in practice, or a question to the supervisor: what is said of it.

Neither ends a case, unless stopping is right. Asking never costs marks, and naming a source that
has not spoken yet does not either: that is the usual order of work. Only repeating what would not
help costs.
"""

from dataclasses import dataclass

from lengthwise.evidence import PointTrial
from lengthwise.reconciliation import Reconciliation, reconcile
from lengthwise.reconciliation.next_actions import weigh_actions
from lengthwise.reference import practice as q

from .into_blood import bleeds_unlooked
from .not_yet import all_dry_mm, last_points, left_to_do, why_no_length, why_this_step
from .point_sittings import STEP_MM
from .practice_cautions import SHOWN_MM, last_stop_mm, silent_at_the_limit
from .practice_chair import TARGET_MM, Sitting
from .rounds_signs import why_not_dry

POSSIBLE_STEPS = ("film", "reading", "points")
"""Next steps that are taken on this bench; the others end a case."""

ROUNDS = 3
"""A canal that so many rounds of drying leave wet will not be dry today (common practice: two or
three)."""


SILENT = 2
"""Readings to the limit without a signal after which another tells no more."""


READINGS = 3
"""So many readings that leave a reading to be asked for again settle nothing (common practice:
sources are asked again once, then somebody is asked)."""


@dataclass(frozen=True)
class Reply:
    """What is said of a proposal.

    Attributes
    ----------
    fits : it helps; of a question, it was answered.
    costs : a part of the marks is lost.
    ends : stopping is right, and the case ends.
    words : what is said.
    """

    fits: bool
    words: str
    costs: bool = False
    ends: bool = False


def propose(sitting: Sitting, step: str, asked: int = 0) -> Reply:
    """Say whether a step helps now.

    Parameters
    ----------
    sitting : the case with what was done.
    step : one of `POSSIBLE_STEPS`, or "ask", which ends the case where it is right.
    asked : questions of this case that were answered before.

    Examples
    --------
    >>> from lengthwise.marking.practice_ways import begin
    >>> propose(begin("plain", 1), "film").costs
    False
    """
    result = reconcile(sitting.evidence(), target_mm=TARGET_MM)
    if step == "ask":
        return _asked(sitting, result, asked)
    best, also = result.next_step.word, result.next_step.also
    if step == "reading" and settled_silent(sitting):
        return Reply(True, NO_SIGNAL)
    if step in (best, *also):
        return Reply(True, "This is what the evidence asks for. Do it now: the bench is open.")
    spoken = _RECORDS[step] in {source.kind for source in result.used}
    if spoken and not _helps(result, step):
        return Reply(False, f"{_look_again(sitting, result)} {_COST}", costs=True)
    return Reply(True, f"Do it now: it costs no marks. {_worth_most(best)}")


_COST = f"{round(100 * q.MISSTEP_COST.value)} % of this case's marks are lost."


def _helps(result: Reconciliation, step: str) -> bool:
    if result.next_step.net is None:
        return False
    weighed = weigh_actions(result.evidence, result.used, result.posterior, result.loss)
    return any(one.net > 0 and one.action.word == step for one in weighed)


def _worth_most(best: str) -> str:
    if best == "confirm":
        return "It can only confirm: what you have is enough for a length."
    if best == "ask":
        return "It will not settle this: look again at what was found, and stop."
    return (
        f"For the length alone {_NAMES[best]} would tell more for what it costs; the order of work "
        "hears the reading and the radiograph before paper, and that is as right."
    )


_NAMES = {"film": "a radiograph", "reading": "a reading", "points": "a dry canal and paper"}


def _asked(sitting: Sitting, result: Reconciliation, asked: int) -> Reply:
    share, words = stopped(sitting, result)
    if share:
        return Reply(True, words, ends=True)
    if not sitting.done:
        return Reply(False, LOOK_FIRST)
    bleeds = bleeds_unlooked(sitting)
    first = f"{BLEEDS} " if bleeds else ""
    if asked:
        again = _look_again(sitting, result)
        return Reply(True, f"{first}{NEVER_UNSAFE} Your supervisor asks back this time. {again}")
    left = "the sources are enough for a length: answer with one"
    left += " once that is done" if bleeds else ""
    if result.working_length_mm is None:
        left = f"{_left(sitting, result)}, because {why_this_step(result)}"
    left += f".{_rounds(result.next_step.word)}"
    return Reply(
        True,
        f"{first}{NEVER_UNSAFE} Your supervisor looks at what you have and says what is still to "
        f"do: {left} The case goes on.",
    )


BLEEDS = (
    "It bleeds, and its cause has not been looked for: choose “look for a cause” before any "
    "length is taken."
)
NO_SIGNAL = (
    "It costs no marks, but it would tell no more: readings as far as a file may go gave no "
    "signal. Stop and ask."
)
NEVER_UNSAFE = "Asking is never unsafe, and costs no marks."
LOOK_FIRST = (
    f"{NEVER_UNSAFE} But your supervisor asks back: what have you seen? Take one measurement "
    "first, a reading for instance, then ask about it."
)


def _at_the_limit(sitting: Sitting, result: Reconciliation) -> bool:
    """Whether points were dry as far as they may go."""
    inside = all_dry_mm(result)
    return inside is not None and inside + STEP_MM - last_stop_mm(sitting) > SHOWN_MM


def _left(sitting: Sitting, result: Reconciliation) -> str:
    if result.next_step.word == "points" and _at_the_limit(sitting, result):
        return (
            "go no longer; see whether the canal is open (check patency), where a file stands on a "
            "radiograph, and if that settles nothing, stop"
        )
    if result.next_step.word == "reading" and silent_at_the_limit(sitting):
        return (
            "not the same reading again: as far as a file may go it gave no signal; take a "
            "radiograph with a file, which may show that the root goes on, then read to the new "
            "limit, once more at the same one if it stays; if there is none still, stop"
        )
    return left_to_do(result)


def settled_silent(sitting: Sitting) -> bool:
    """Whether readings to the limit gave no signal, before and after a radiograph with a file."""
    filmed = any(each.kind == "working_film" for each in sitting.evidence().records)
    return filmed and silent_at_the_limit(sitting) >= SILENT


def _rounds(step: str) -> str:
    if step != "points":
        return ""
    return f" Up to {ROUNDS} rounds of drying and points; if it is wet still, stop."


def _look_again(sitting: Sitting, result: Reconciliation) -> str:
    best = result.next_step.word
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
    if best == "reading" and silent_at_the_limit(sitting):
        where = "how far a file may go: up to there the reading gave no signal."
    elif best == "points" and all_dry_mm(result) is not None:
        where = f"how far paper has been: {why_no_length(result)}."
    elif isinstance(last, PointTrial) and last.liquid_in_canal != "dry":
        where = "whether the canal was dry when the last points were tried."
    return f"Another step is worth more now. Look again at {where}{_rounds(best)}"


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


def stopped(sitting: Sitting, result: Reconciliation) -> tuple[float, str]:
    """Stop and ask: right where the evidence says so, or where the canal stays wet."""
    why = stays_wet(sitting)
    if why:
        return 1.0, f"Stopping is right: {why}. No length is taken today; that is a result."
    if "ask" in (result.next_step.word, *result.next_step.also):
        return 1.0, _why_stopping(sitting, result)
    if result.next_step.word == "reading" and settled_silent(sitting):
        return 1.0, (
            "Stopping is right: the reading gives no signal as far as a file may go, and a "
            "radiograph with a file did not make that further."
        )
    readings = sum(each.kind == "electronic_reading" for each in sitting.evidence().records)
    if result.next_step.word == "reading" and readings >= READINGS:
        return 1.0, (
            f"Stopping is right: {readings} readings did not settle it, and another would tell no "
            "more."
        )
    if result.working_length_mm is not None:
        return 0.0, "Nothing here asks for somebody else: the sources are enough for a length."
    return 0.0, (
        "Asking is never unsafe, but a step was left that you can take yourself "
        f"({_left(sitting, result)})."
    )


def stays_wet(sitting: Sitting) -> str:
    """Why this canal will not be dry today; empty where that cannot be said yet."""
    rounds, tried = _rounds_of_drying(sitting)
    if rounds < ROUNDS:
        return ""
    if sitting.done[-1].bleeding != "none":
        return f"it still bleeds after {rounds} rounds of drying"
    wet = why_not_dry(tried) if sum(each.wet_mm > 0 for each in tried) > 1 else ""
    return f"after {rounds} rounds of drying, {wet}" if wet else ""


def _why_stopping(sitting: Sitting, result: Reconciliation) -> str:
    """That stopping is right, where the evidence itself asks for somebody, and why."""
    why, sentence = why_no_length(result), result.next_step.sentence
    rounds, _ = _rounds_of_drying(sitting)
    if rounds >= ROUNDS and any(each.wet_mm for each in last_points(result)):
        why = f"after {rounds} rounds of drying, {why}"
    if result.reasons_to_ask or result.next_step.word != "ask":
        return f"Stopping is right: {why}."
    return f"Stopping is right{'' if why in sentence else f': {why}'}. {sentence}"


def _rounds_of_drying(sitting: Sitting) -> tuple[int, list[PointTrial]]:
    """The rounds of this visit, and the points of the last; a round is drying, then points."""
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
    return rounds, tried
