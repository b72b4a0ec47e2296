"""Make ``practice_difficulty.csv``: how difficult each kind of practice case is, in logits.

Run from the top of the checkout: ``python datasets/make/practice_difficulty.py``; it takes some
minutes. Automatic students work on cases of every kind: careful ones, and believers of each kind in
turn. What the believers earn is a table of persons and items, to which the Rasch model is fitted by
marginal maximum likelihood (Bock & Aitkin 1981, Psychometrika 46:443): abilities are normal around
0, which is the level of somebody who holds one of the beliefs; each kind has a difficulty.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import numpy.typing as npt
from lengthwise.marking.practice_kinds import KINDS
from lengthwise.marking.practice_marks import verdict
from lengthwise.marking.practice_students import STUDENTS, play
from lengthwise.marking.practice_ways import begin
from scipy.optimize import minimize
from scipy.special import log_expit, logsumexp

Floats = npt.NDArray[np.float64]

SEED = 4000
CAREFUL, EACH_BELIEVER = 8, 4
NODES = np.linspace(-4, 4, 321)
"""Standard abilities, close together: what one believer earns in so many plays says the ability
within a fifth of a logit, and nodes further apart than that would shift the whole scale."""

WEIGHTS = np.exp(-(NODES**2) / 2)
COLUMNS = (
    "kind", "difficulty_logit", "sd_logit", "careful_share", "believers_share", "plays", "source",
    "status",
)  # fmt: skip
SOURCE = "automatic students on the simulated patient, by make/practice_difficulty.py"


def shares(kind: str, student: str, seeds: range) -> list[float]:
    """What a student earns in some cases of a kind."""
    found = []
    for seed in seeds:
        sitting = begin(kind, seed)
        found.append(verdict(sitting, play(sitting, student)).share)
    return found


def believing(kind: str) -> list[list[float]]:
    """What believers earn in a kind, (believers, plays)."""
    return [
        shares(kind, student, range(first, first + EACH_BELIEVER))
        for first, student in enumerate(STUDENTS[1:], start=SEED)
    ]


def fitted(earned: Floats) -> Floats:
    """Difficulties (logits) by the Rasch model, from shares of (kinds, believers, plays)."""
    kinds, _, plays = earned.shape
    total = earned.sum(axis=2).T  # (believers, kinds)

    def misfit(parameters: Floats) -> float:
        ability = np.exp(parameters[-1]) * NODES  # (nodes,)
        logit = ability[:, None] - parameters[None, :kinds]
        log_each = total @ log_expit(logit).T + (plays - total) @ log_expit(-logit).T
        return -float(logsumexp(log_each + np.log(WEIGHTS / WEIGHTS.sum()), axis=1).sum())

    return np.asarray(minimize(misfit, np.zeros(kinds + 1)).x[:kinds])


def with_sd(earned: Floats) -> tuple[Floats, Floats]:
    """Difficulties with their standard uncertainty, by leaving out one play of each at a time."""
    plays = earned.shape[2]
    without = np.array([fitted(np.delete(earned, one, axis=2)) for one in range(plays)])
    return fitted(earned), np.sqrt((plays - 1) * without.var(axis=0))


def main() -> None:
    """Play, fit, and write the table."""
    path = Path(__file__).resolve().parents[1] / "practice_difficulty.csv"
    careful = [np.mean(shares(kind, "careful", range(SEED, SEED + CAREFUL))) for kind in KINDS]
    earned = np.array([believing(kind) for kind in KINDS])
    plays = str(CAREFUL + earned[0].size)
    columns = np.array([*with_sd(earned), careful, earned.mean(axis=(1, 2))]).T
    rows = [
        (kind, *(f"{number:.3f}" for number in numbers), plays, SOURCE, "computed")
        for kind, numbers in zip(KINDS, columns, strict=True)
    ]
    with path.open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream, lineterminator="\n").writerows([COLUMNS, *rows])


if __name__ == "__main__":
    main()
