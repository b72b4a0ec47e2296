"""What one answer says of the student behind it: how probable it is, whatever is believed.

A clue holds the probability of one answer for a careful student, for somebody who answers at
random, and for whoever holds a belief that speaks about the question. Where a belief leads to what
is right anyway, its probability is that of the careful, and the clue says nothing about it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

ADHERES = 0.85
"""Whoever holds a belief follows it this often where it speaks, and is careful otherwise."""


@dataclass(frozen=True)
class Clue:
    """One answer.

    Attributes
    ----------
    careful, erratic : its probability, or density per mm, for each of the two; at random anything
        can be answered, so that `erratic` is above 0.
    believed : the same for each belief that speaks here.
    seen : what was seen of a belief, as it is told to the student after "q3: ".
    """

    careful: float
    erratic: float
    believed: Mapping[str, float]
    seen: Mapping[str, str] = field(default_factory=dict)


def follows(belief: float, careful: float) -> float:
    """The probability of an answer for whoever holds a belief, from what the belief leads to.

    >>> round(follows(1.0, 0.2), 2)
    0.88
    """
    return ADHERES * belief + (1 - ADHERES) * careful


def choice_clue(
    right: bool, chosen: str | None, offered: Iterable[str], choices: int, seen: str
) -> Clue:
    """The clue of a choice among several.

    Parameters
    ----------
    right : whether what was chosen is right.
    chosen : the belief behind what was chosen; None where there is none.
    offered : the beliefs behind all that could be chosen.
    choices : how many there were.
    seen : what was chosen, in words.

    Examples
    --------
    >>> clue = choice_clue(False, "M4", ("M4", "M5"), 4, "you chose the first wet length")
    >>> clue.careful, clue.believed["M4"], clue.believed["M5"], clue.erratic
    (0.0, 0.85, 0.0, 0.25)
    """
    careful = float(right)
    believed = {one: follows(float(one == chosen), careful) for one in offered}
    return Clue(careful, 1 / choices, believed, {chosen: seen} if chosen else {})
