"""Which mistaken beliefs all of a student's answers look like, and the evidence for each.

Every answer is a clue (`clues`). The clues of an assignment are weighed together: a belief is named
when they are far more probable for somebody who holds it than for a careful student, both allowed
to slip, or to answer at random, now and then. So an answer that a belief leads to counts only
where a careful student would have answered otherwise, a slip is not a belief, and whoever guesses
is not told one. Further beliefs are named only for what those named before do not explain.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from .clues import Clue
from .misconceptions import MISCONCEPTIONS

SLIPS = np.array([0.02, 0.05, 0.1, 0.2, 0.35, 0.55, 0.8])
"""Shares of the answers that are given at random, from a slip to erratic."""

SLIPS_WEIGHT = np.array([0.3, 0.25, 0.15, 0.1, 0.08, 0.07, 0.05])
"""How probable each is beforehand."""

NAMED_FROM = 6.0
"""Log of the ratio of probabilities from which a belief is named (400 to 1)."""

FEWEST, SUPPORTS = 2, 1.0
"""A belief is named on at least so many answers, each more probable with it by this log ratio."""


MOST_SHOWN = 3
"""So much evidence is spelled out to a student; the rest is named by its question."""


@dataclass(frozen=True)
class Named:
    """A belief that a student's answers look like.

    Attributes
    ----------
    misconception : its id, such as ``M7``.
    questions : those that show it, as ``q3``, the plainest first.
    evidence : what was seen in each, in a sentence for the student, in the same order.
    """

    misconception: str
    questions: tuple[str, ...]
    evidence: tuple[str, ...]

    @property
    def belief(self) -> str:
        """The belief in a few words."""
        return MISCONCEPTIONS[self.misconception].belief


def named_in(work: Sequence[tuple[str, Clue]]) -> tuple[Named, ...]:
    """The beliefs that the answers look like, the plainest first; none for a careful student.

    Parameters
    ----------
    work : question and clue, in the order of the questions.

    Examples
    --------
    >>> right = Clue(1.0, 0.2, {"M7": 0.15})
    >>> wrong = Clue(0.0, 0.2, {"M7": 0.85}, {"M7": "you took the mean"})
    >>> named_in([("q1", right), ("q2", wrong), ("q3", right)])
    ()
    >>> mostly = [(f"q{n}", wrong) for n in range(1, 6)]
    >>> (one,) = named_in([*mostly, ("q6", right)])
    >>> one.misconception, one.evidence[0]
    ('M7', 'q1: you took the mean')
    """
    clues = [clue for _, clue in work]
    candidates = sorted({one for clue in clues for one in clue.believed})
    held: list[str] = []
    so_far = _log_probability(clues, held)
    while left := [one for one in candidates if one not in held]:
        gains = [_log_probability(clues, [*held, one]) - so_far for one in left]
        best = int(np.argmax(gains))
        if gains[best] < NAMED_FROM:
            break
        if len(_shown_by(left[best], [*held, left[best]], work)) < FEWEST:
            candidates.remove(left[best])
            continue
        held.append(left[best])
        so_far += gains[best]
    found = [_named(one, held, work) for one in held]
    return tuple(one for one in found if len(one.questions) >= FEWEST)


def _log_probability(clues: Sequence[Clue], held: Sequence[str]) -> float:
    if not clues:
        return 0.0
    behind = np.array([[_with(clue, held), clue.erratic] for clue in clues])
    each = (1 - SLIPS[:, None]) * behind[:, 0] + SLIPS[:, None] * behind[:, 1]
    # In logs: a few lengths far from everything have a product too small for a number.
    return float(logsumexp(np.log(each).sum(axis=1), b=SLIPS_WEIGHT))


def _with(clue: Clue, held: Sequence[str]) -> float:
    """Its probability for somebody with these beliefs, each as likely to be followed."""
    speak = [clue.believed[one] for one in held if one in clue.believed]
    return sum(speak) / len(speak) if speak else clue.careful


def _shown_by(
    belief: str, held: Sequence[str], work: Sequence[tuple[str, Clue]]
) -> list[tuple[str, str]]:
    """Questions whose answers this belief explains best, with what was seen; plainest first."""
    shown = []
    for question, clue in work:
        with_it = clue.believed.get(belief, 0.0)
        best = with_it > 0 and with_it >= max(clue.believed.get(one, 0.0) for one in held)
        floor = clue.careful + SLIPS[0] * clue.erratic
        if best and belief in clue.seen and np.log(with_it / floor) >= SUPPORTS:
            shown.append((with_it / floor, question, clue.seen[belief]))
    shown.sort(key=lambda one: -one[0])
    return [(question, seen) for _, question, seen in shown]


def _named(belief: str, held: Sequence[str], work: Sequence[tuple[str, Clue]]) -> Named:
    shown = _shown_by(belief, held, work)
    questions = tuple(dict.fromkeys(question for question, _ in shown))
    return Named(belief, questions, tuple(f"{question}: {seen}" for question, seen in shown))


def summary_of(named: Sequence[Named]) -> str:
    """What the student reads of it all, in Markdown; empty where nothing is named.

    >>> print(summary_of((Named("M7", ("q1", "q4"), ("q1: you took the mean", "q4: again")),)))
    **Looking over all your answers**
    <BLANKLINE>
    Your answers look as if every source deserved the same weight.
    <BLANKLINE>
    - q1: you took the mean
    - q4: again
    <BLANKLINE>
    Look again at what one odd source does to a plain mean: it moves towards the odd one, ...
    """
    if not named:
        return ""
    parts = ["**Looking over all your answers**"]
    for one in named:
        about = MISCONCEPTIONS[one.misconception]
        also = "They also" if len(parts) > 1 else "Your answers"
        parts.append(f"{also} look as if {about.look_as_if}.")
        spelt = one.evidence[:MOST_SHOWN]
        parts.append("\n".join(f"- {sentence}" for sentence in spelt))
        told = {sentence.split(":")[0] for sentence in spelt}
        if others := [question for question in one.questions if question not in told]:
            parts.append(f"The same shows in {', '.join(others)}.")
        parts.append(f"Look again at {about.again}.")
    return "\n\n".join(parts)
