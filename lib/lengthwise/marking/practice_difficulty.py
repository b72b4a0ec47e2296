"""How difficult the next practice case is: a rating that follows the student.

A case is a match between a student and a kind of case, as in the Rasch model: who is as good as a
case is difficult earns half of it (Pelánek 2016, Computers & Education 98:169; Klinkenberg,
Straatemeier & van der Maas 2011, Computers & Education 57:1813). The student's level and its
uncertainty are updated by the Glicko law (Glickman 1999, Applied Statistics 48:377), in logits.
How difficult the kinds are was measured with simulated students (`datasets/make`).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import exp, hypot, pi, sqrt

import numpy as np

from lengthwise.reference import practice as q
from lengthwise.reference.files import read_rows

Generator = np.random.Generator

TABLE = "practice_difficulty"
NOT_AGAIN = 1
"""A kind is not met again before so many others."""


@dataclass(frozen=True)
class Rating:
    """A level, or a difficulty, in logits, with its standard uncertainty."""

    logit: float = 0.0
    sd_logit: float = q.START_SD_LOGIT.value


def expected_share(level: Rating, difficulty: Rating) -> float:
    """What a student of this level is expected to earn (0 to 1) in a case of this difficulty.

    >>> expected_share(Rating(1.0, 0.2), Rating(1.0, 0.0))
    0.5
    """
    return 1 / (1 + exp(-_damped(difficulty) * (level.logit - difficulty.logit)))


def rated(level: Rating, met: Sequence[tuple[Rating, float]]) -> Rating:
    """The level after some cases, each a difficulty and the share that was earned (0 to 1).

    Parameters
    ----------
    level : before; where it drifts is for `after` to add.
    met : what was met at once.

    Examples
    --------
    >>> rated(Rating(0.0, 1.0), [(Rating(0.0, 0.0), 0.5)]).logit
    0.0
    """
    weights = [_damped(difficulty) for difficulty, _ in met]
    expected = [expected_share(level, difficulty) for difficulty, _ in met]
    known = sum(g**2 * e * (1 - e) for g, e in zip(weights, expected, strict=True))
    variance = 1 / (1 / level.sd_logit**2 + known)
    surprise = sum(g * (share - e) for g, e, (_, share) in zip(weights, expected, met, strict=True))
    return Rating(level.logit + variance * surprise, sqrt(variance))


def after(level: Rating, kind: str, share: float) -> Rating:
    """The level after one practice case: it may have drifted since the last one, and is updated."""
    drifted = hypot(level.sd_logit, q.DRIFT_LOGIT.value)
    before = Rating(level.logit, min(drifted, q.START_SD_LOGIT.value))
    return rated(before, [(difficulties()[kind], share)])


@cache
def difficulties() -> Mapping[str, Rating]:
    """How difficult each kind of case is, by its name.

    >>> all(each.sd_logit > 0 for each in difficulties().values())
    True
    """
    return {
        row["kind"]: Rating(float(row["difficulty_logit"]), float(row["sd_logit"]))
        for row in read_rows(TABLE)
    }


def served() -> tuple[float, float]:
    """The levels (logits) for which there are cases: from the easiest kind to the hardest.

    >>> low, high = served()
    >>> high - low > 2
    True
    """
    logits = [each.logit for each in difficulties().values()]
    return min(logits), max(logits)


def choose_kind(level: Rating, lately: Sequence[str], rng: Generator) -> str:
    """The kind of the next case: near the student's level, and not one of the last.

    Parameters
    ----------
    level : of the student.
    lately : kinds met so far, the last one last.
    rng : numpy.random.Generator
        Where the chance comes from.
    """
    kinds = difficulties()
    free = [kind for kind in kinds if kind not in lately[-NOT_AGAIN:]]
    away = np.array([kinds[kind].logit - level.logit for kind in free])
    # Measured from the nearest, so that somebody beyond all kinds still gets the nearest ones.
    away = np.abs(away) - np.abs(away).min()
    weights = np.exp(-((away / q.NEAR_LOGIT.value) ** 2) / 2)
    return free[int(rng.choice(len(free), p=weights / weights.sum()))]


def _damped(difficulty: Rating) -> float:
    return 1 / sqrt(1 + 3 * difficulty.sd_logit**2 / pi**2)
