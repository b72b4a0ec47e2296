"""Make extracted_teeth_example.csv: an invented session of 24 students with extracted teeth.

Nobody and nothing in it is real. Every student measured the same six canals of five teeth by three
methods, twice each, and gave a 90 % interval with the first. The spreads below are judgements,
chosen so that a report has something to show: one student reads long, one is careless, one is far
too sure, one left early.

    python datasets/make/extracted_teeth_example.py
"""

import csv
from pathlib import Path

import numpy as np

TARGET = Path(__file__).parents[1] / "extracted_teeth_example.csv"
STUDENTS = 24
CANALS = {  # code of the specimen and canal: true length (mm)
    ("T1", "single"): 21.4,
    ("T2", "single"): 26.8,
    ("T3", "B"): 20.6,
    ("T3", "P"): 20.2,
    ("T4", "single"): 22.9,
    ("T5", "single"): 24.5,
}
METHODS = {  # bias, spread between canals, spread of repeats (mm)
    "electronic reading": (-0.05, 0.25, 0.10),
    "paper point": (-0.15, 0.28, 0.07),
    "radiograph": (0.40, 0.50, 0.20),
}
READS_LONG, CARELESS, TOO_SURE, LEFT_EARLY = 4, 9, 14, 19
HALF_WIDTH_MM, TOO_SURE_MM = 0.9, 0.15
COLUMNS = ("student", "tooth", "canal", "method", "repeat", "measured_mm", "low_mm", "high_mm",
           "true_mm", "source", "status")  # fmt: skip


def rows(rng: np.random.Generator) -> list[tuple[str, ...]]:
    """One row a measurement."""
    made = []
    hidden = {
        (canal, method): rng.normal(0, spread)
        for canal in CANALS
        for method, (_, spread, _) in METHODS.items()
    }
    for number in range(1, STUDENTS + 1):
        own_bias = rng.normal(0, 0.1) + (0.7 if number == READS_LONG else 0.0)
        hand = 3.0 if number == CARELESS else 1.0
        half = TOO_SURE_MM if number == TOO_SURE else HALF_WIDTH_MM
        canals = list(CANALS)[:2] if number == LEFT_EARLY else list(CANALS)
        for canal in canals:
            for method, (bias, spread, repeats) in METHODS.items():
                middle = CANALS[canal] + bias + own_bias + hidden[canal, method]
                middle += rng.normal(0, 0.4 * spread * hand)
                for repeat in (1, 2):
                    length = middle + rng.normal(0, repeats * hand)
                    ends = ("", "")
                    if repeat == 1:
                        ends = (f"{length - half:.1f}", f"{length + half:.1f}")
                    made.append(
                        (f"student-{number:02}", *canal, method, str(repeat), f"{length:.1f}",
                         *ends, f"{CANALS[canal]:.1f}", "invented", "computed")
                    )  # fmt: skip
    return made


if __name__ == "__main__":
    with TARGET.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(rows(np.random.default_rng(24)))
