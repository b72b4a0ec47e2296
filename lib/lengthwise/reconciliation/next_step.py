"""What to do next: take the length and confirm it, get one more source, or stop and ask.

One more source is asked for where its expected reduction of the loss is more than its cost (see
`next_worth`). Where nothing is worth its cost the length is enough, if it is known well enough to
be taken at all; if not, sources that have not spoken are heard whatever they cost, and after them
somebody has to be asked. Scope, what points ask, and sources that still contradict each other come
first: no sum argues them away. Nor does a sum argue away a radiograph that the clinic requires,
which is why "enough" says so.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lengthwise.evidence.tenths import apart_mm
from lengthwise.reference import actions
from lengthwise.reference import constants as c

from .next_actions import Weighed

NEXT_STEPS: dict[str, str] = {
    "confirm": "good enough: confirm the length by radiograph as the clinic requires, record it",
    "film": "not yet: take a working radiograph with a file at a known length",
    "reading": "not yet: take the electronic reading (again), crown and chamber dry, without metal "
    "contact",
    "points": "not yet: dry the canal and try paper points (again)",
    "ask": "stop: these sources cannot settle it; ask the supervisor or refer",
    "longer": "go on a millimetre longer until something shows",
}
"""Words that a student may type, with their meaning. "longer" is never the right one."""

UNSAFE_STEPS = frozenset({"longer"})


@dataclass(frozen=True)
class NextStep:
    """What to do next, and why.

    Attributes
    ----------
    word : from `NEXT_STEPS`.
    sentence : the reason in one sentence, or two.
    also : words of other steps that are worth nearly as much, and as right.
    net : what the step is worth, less its cost; None where it does not rest on its worth.
    """

    word: str
    sentence: str
    also: tuple[str, ...] = ()
    net: float | None = None


def narrow_enough(interval_mm: tuple[float, float]) -> bool:
    """Whether a length may be taken at all where its 90 % interval is this (mm)."""
    return interval_mm[1] - interval_mm[0] <= c.WIDEST_INTERVAL_MM.value


def how_open(interval_mm: tuple[float, float]) -> str:
    """How wide a 90 % interval (mm) is, as a clause that adds up beside its two ends in tenths.

    >>> how_open((22.34, 24.96))
    'the foramen may still lie anywhere in a stretch of 2.7 mm'
    """
    low, high = interval_mm
    return f"the foramen may still lie anywhere in a stretch of {apart_mm(high, low):.1f} mm"


def choose_next_step(
    reasons_to_ask: Sequence[str],
    interval_mm: tuple[float, float],
    weighed: Callable[[], Sequence[Weighed]],
    *,
    question: str | None = None,
    conflict: Callable[[], str | None] = lambda: None,
) -> NextStep:
    """The next step for a case.

    Parameters
    ----------
    reasons_to_ask : sequence of str
        Why the case is out of scope; empty when it is not.
    interval_mm : (float, float)
        90 % interval of the foramen (mm).
    weighed : callable
        Gives the actions that can be taken, the worthiest first (`weigh_actions`).
    question : str, optional
        What the points ask before a length is taken (see `points_question`).
    conflict : callable
        Gives the conflict that repeats have not resolved; asked only where the length is open,
        because working it out takes longer than the rest.

    Examples
    --------
    >>> choose_next_step((), (25.0, 25.8), tuple).word
    'confirm'
    >>> choose_next_step((), (23.0, 26.0), tuple).word
    'ask'
    """
    if reasons_to_ask:
        return NextStep("ask", f"Not with these sources: {'; '.join(reasons_to_ask)}. Ask.")
    if question:
        return NextStep("points", question, also=("ask",))  # asking is never the unsafe answer
    open_mm = how_open(interval_mm)
    narrow = narrow_enough(interval_mm)
    apart = None if narrow else conflict()
    if apart:
        return NextStep("ask", f"All sources have spoken, and {apart}: {open_mm}. Ask.")
    every = weighed()
    worthy = [one for one in every if one.net > 0]
    if not worthy and not narrow:  # no length can be taken, so whoever has not spoken is heard
        worthy = [one for one in every if not one.spoken]
    if worthy:
        return _worthiest(worthy, open_mm)
    if narrow:
        return NextStep(
            "confirm",
            "Enough for the length; confirm by radiograph as your clinic requires, and record.",
        )
    return NextStep("ask", f"Nothing more is worth its cost here, yet {open_mm}. Ask.")


def _worthiest(worthy: Sequence[Weighed], open_mm: str) -> NextStep:
    best = worthy[0]
    others = [one for one in worthy[1:] if best.net - one.net <= actions.NEARLY_EQUAL_WORTH.value]
    action = best.action
    sentence = f"{action.again if best.spoken else action.first}: {open_mm}. {_worth_words(best)}"
    if others:
        words = " or ".join(f'"{one.action.word}"' for one in others)
        sentence += f" Worth nearly as much: {words}."
    return NextStep(action.word, sentence, tuple(one.action.word for one in others), best.net)


def _worth_words(best: Weighed) -> str:
    gain, cost = _told_apart(best.worth.gain, best.action.cost.value)
    spent = f"than it costs ({cost}, {best.action.spends}), counted in millimetres short"
    if best.net <= 0:
        more = f"no more ({gain}) {spent}; but no length can be taken as it is"
    elif gain == cost:
        more = f"a little more {spent}"
    else:
        more = f"more ({gain}) {spent}"
    return f"It is expected to spare {more}."


def _told_apart(one: float, other: float) -> tuple[str, str]:
    """Two numbers with two decimals, or as many as tell them apart, up to four.

    >>> _told_apart(0.43, 0.034), _told_apart(0.0343, 0.034), _told_apart(0.104, 0.1)
    (('0.43', '0.03'), ('0.0343', '0.0340'), ('0.104', '0.100'))
    """
    for decimals in (2, 3, 4):
        told = f"{one:.{decimals}f}", f"{other:.{decimals}f}"
        if told[0] != told[1]:
            break
    return told
