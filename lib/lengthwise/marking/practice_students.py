"""Automatic students for practice: a careful one, and those who hold a mistaken belief.

They see what a student sees. The careful one takes the step that the evidence asks for until a
length or a reason to stop is found; a believer does the same and ends where the belief leads to.
"""

from collections.abc import Sequence

from lengthwise.evidence import PointTrial
from lengthwise.reconciliation import reconcile

from .believers import BELIEVERS, believers_answer, careful_answer
from .determination import Determination
from .point_sittings import BEYOND_MM, STEP_MM
from .point_words import longest_dry_mm
from .practice_cautions import limit_mm, silent_at_the_limit, too_far
from .practice_chair import TARGET_MM, Act, Sitting
from .practice_steps import POSSIBLE_STEPS, settled_silent, stays_wet
from .practice_ways import take

MOST_ROUNDS = 5
"""Steps after which even a careful student asks somebody."""

LONG_S, BRIEF_S, FEWEST_WET = 5.0, 1.0, 3
STUDENTS = ("careful", *BELIEVERS)


def play(sitting: Sitting, student: str) -> Determination:
    """Work on a case until it can be answered.

    Parameters
    ----------
    sitting : the case; what is done goes into it.
    student : ``careful``, or a belief such as ``M1``.

    Examples
    --------
    >>> from lengthwise.marking.practice_ways import begin
    >>> play(begin("plain", 1), "careful").working_length_mm is not None
    True
    """
    contact_s = LONG_S if student == "M5" else BRIEF_S
    before = {each.act.word for each in sitting.done}
    for word, taken in (("reading", "reading"), ("points", "point")):
        if taken not in before:  # nobody answers on a radiograph alone
            _take(sitting, word, student, contact_s)
    for _ in range(MOST_ROUNDS):
        result = reconcile(sitting.evidence(), target_mm=TARGET_MM)
        careful = careful_answer(result)
        answer = careful if student == "careful" else believers_answer(student, result)
        if answer.next_step not in POSSIBLE_STEPS:
            return answer
        if stays_wet(sitting) or (answer.next_step == "reading" and settled_silent(sitting)):
            break
        _take(sitting, str(answer.next_step), student, contact_s)
    return Determination(next_step="ask")


def _take(sitting: Sitting, step: str, student: str, contact_s: float) -> None:
    estimated = sitting.estimated_mm
    if step == "film":
        taken = any(each.act.word == "film" for each in sitting.done)
        word = "film, aside" if taken else "film"
        take(sitting, Act(word, _allowed(sitting, word, estimated)))
    elif step == "reading":
        if silent_at_the_limit(sitting):  # where does the root end?
            _take(sitting, "film", student, contact_s)
        if student != "M1":
            take(sitting, Act("prepare", estimated))
        furthest = limit_mm(sitting)[0] // STEP_MM * STEP_MM
        take(sitting, Act("reading", _allowed(sitting, "reading", furthest)))
    else:
        _try_points(sitting, estimated, contact_s)


def _allowed(sitting: Sitting, word: str, length_mm: float) -> float:
    """The length, or as much less as what is known by now asks for."""
    while too_far(sitting, Act(word, length_mm)):
        length_mm -= STEP_MM
    return length_mm


def _try_points(sitting: Sitting, estimated_mm: float, contact_s: float) -> None:
    inside = estimated_mm - STEP_MM
    before = [e.record for e in sitting.done if isinstance(e.record, PointTrial)]
    if before:
        for word in _before_trying_again(sitting, before):
            take(sitting, Act(word, estimated_mm))
        inside = longest_dry_mm(before) or inside
    for length in (inside - STEP_MM, inside):
        for _ in range(3):
            take(sitting, Act("dry", length))
            if sitting.patient.state.liquid_in_canal == "dry":  # as it is written down
                break
    length, wet = inside, 0
    for _ in range(6):
        trial = take(sitting, Act("point", length, contact_s)).record
        assert isinstance(trial, PointTrial)  # a trial always gives a record
        wet += trial.wet_mm > 0
        if wet >= FEWEST_WET:
            break
        if not trial.wet_mm:
            length = _allowed(sitting, "point", min(length + STEP_MM, estimated_mm + BEYOND_MM))


def _before_trying_again(sitting: Sitting, tried: Sequence[PointTrial]) -> tuple[str, ...]:
    """What is done once the points have told no length: look, ask why, let it calm down."""
    if all(each.wet_mm == 0 for each in tried):
        return ("saline", "patency")
    if sitting.done[-1].bleeding != "none" or tried[-1].liquid == "blood":
        looked = any(each.act.word == "cause" for each in sitting.done)
        return ("hypochlorite", "saline", "wait") if looked else ("cause", "saline", "wait")
    return ()
