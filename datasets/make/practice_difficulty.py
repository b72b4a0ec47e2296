"""Make ``practice_difficulty.csv``: how difficult each kind of practice case is, in logits.

Run from the top of the checkout: ``python datasets/make/practice_difficulty.py``; it takes some
minutes. Automatic students work on cases of every kind: careful ones, and believers of each kind in
turn. A student of level 0 is one who holds one of the beliefs, each as often as the others; a kind
is as difficult as what such students fail to earn in it says.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from lengthwise.marking.practice_cases import KINDS
from lengthwise.marking.practice_marks import verdict
from lengthwise.marking.practice_students import STUDENTS, play
from lengthwise.marking.practice_ways import begin

SEED = 4000
CAREFUL, EACH_BELIEVER = 8, 4
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


def row(kind: str) -> tuple[str, ...]:
    """Difficulty of one kind, with its standard uncertainty: that of a stratified mean."""
    careful = shares(kind, "careful", range(SEED, SEED + CAREFUL))
    believing = np.array(
        [
            shares(kind, student, range(first, first + EACH_BELIEVER))
            for first, student in enumerate(STUDENTS[1:], start=SEED)
        ]
    )
    earned = believing.mean()
    within = believing.var(axis=1, ddof=1) / EACH_BELIEVER
    sd = np.sqrt(within.sum()) / len(within)
    numbers = (-np.log(earned / (1 - earned)), sd / (earned * (1 - earned)), np.mean(careful),
               earned)  # fmt: skip
    plays = str(len(careful) + believing.size)
    return (kind, *(f"{number:.3f}" for number in numbers), plays, SOURCE, "computed")


def main() -> None:
    """Play, and write the table."""
    path = Path(__file__).resolve().parents[1] / "practice_difficulty.csv"
    rows = [row(kind) for kind in KINDS]
    with path.open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream, lineterminator="\n").writerows([COLUMNS, *rows])


if __name__ == "__main__":
    main()
