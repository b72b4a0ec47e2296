"""What a practice case earns, and the words about it.

A length or "stop and ask" ends a case and is marked on the evidence that was gathered, as in the
assignments. What could have injured costs a part of that, by what was known when it was done (see
`practice_cautions`); repeats that were proposed and would not have helped cost a part as well.
"""

from dataclasses import dataclass

from lengthwise.reconciliation import Reconciliation, reconcile
from lengthwise.reconciliation.next_step import UNSAFE_STEPS
from lengthwise.reference import practice as q

from .clues import Clue
from .determination import Determination
from .into_blood import bleeds_unlooked
from .marks import mark_weighed
from .practice_cautions import SHOWN_MM, injury_cost, safety_words
from .practice_chair import TARGET_MM, Sitting
from .practice_kinds import KINDS
from .practice_steps import stopped
from .practice_ways import WAYS

BLED = (
    "Safety: It still bled when you answered, and nobody had looked for the cause (“look for a "
    "cause”); in a patient no length is taken until somebody has."
)
PAST_OWN = (
    "Safety: Your working length lay beyond your whole interval: by your own numbers all that is "
    "set to it is past the foramen, and hurts living tissue."
)
LUCK_MM = 0.3
"""A length this near to where it should be came out well."""


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


def verdict(sitting: Sitting, determination: Determination, missteps: int = 0) -> Verdict:
    """Mark what ends a case.

    Parameters
    ----------
    sitting : the case with what was done.
    determination : a length with its interval, "ask", or what could hurt somebody.
    missteps : repeats that were proposed before and would not have helped.

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
        share, words = stopped(sitting, result)
        more = [words]
    unsafe = dict.fromkeys(WAYS[each.act.word].words for each in sitting.own if each.unsafe)
    if determination.next_step in UNSAFE_STEPS or unsafe:
        share = 0.0
    if unsafe:
        more.append(
            f"Safety: you chose {' and '.join(unsafe)}; it was refused, because it could hurt "
            "somebody. The case earns nothing."
        )
    share *= 1 - injury_cost(sitting)
    if missteps and share:
        share *= kept_after(missteps)
        more.append(f"{missteps_words(missteps)}.")
    said = "\n".join([f"This case earns {round(100 * share)} of 100.", *more])
    return Verdict(share, said, _truth(sitting, determination, result), result, marks.clues)


def kept_after(missteps: int) -> float:
    """The share of the marks that is left after so many steps that would not have helped.

    >>> kept_after(0), kept_after(1), kept_after(9)
    (1.0, 0.75, 0.0)
    """
    return max(0.0, 1 - missteps * q.MISSTEP_COST.value)


def missteps_words(missteps: int) -> str:
    """What proposing what would not have helped has cost."""
    times = "Once" if missteps == 1 else f"{missteps} times"
    return (
        f"{times} you proposed a repeat that would not have helped; "
        f"{round(100 * kept_after(missteps))} % of the marks are left"
    )


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
    parts += filter(None, [KINDS[sitting.case.kind].not_seen])
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
        side = "short of" if short > 0 else "past"
        where = f"is {abs(short):.1f} mm {side} it" if abs(short) >= SHOWN_MM else "ends at it"
        parts.append(f"Your working length {where}; {TARGET_MM:g} mm short of it was the target.")
        if result.working_length_mm is None and abs(short - TARGET_MM) <= LUCK_MM:
            parts.append("That it came out well was luck: what you had did not show it.")
    bled = BLED if length is not None and bleeds_unlooked(sitting) else ""
    past_own = PAST_OWN if determination.is_past_own_interval else ""
    return "\n".join(filter(None, [" ".join(parts), past_own, safety_words(sitting), bled]))
