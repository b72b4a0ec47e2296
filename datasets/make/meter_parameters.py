"""Make ``meter_parameters.csv``: what makes readings and nobody measured, as likely draws.

Run from the top of the checkout: ``python datasets/make/meter_parameters.py``. Every parameter is
drawn within its physically possible range (``lengthwise.reference.electrical``), evenly in its
logarithm; draws are weighed by how well published behaviours come out (``meter_behaviours.py``),
and 64 are taken in proportion to their weights. The page ``meter_calibration.md`` is written too.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from lengthwise.physics.line import Floats
from meter_behaviours import (
    BEHAVIOURS,
    draws_of,
    figures_in_extracted_teeth,
    figures_in_patients,
)
from meter_page import PAGE, Run, page
from meter_unknown import UNKNOWN
from scipy.stats import qmc

SEED = 5
PRIOR_DRAWS = 2**14
AT_ONCE = 64
KEPT = 64
HOPELESS = -8.0
"""Draws whose behaviours in patients alone are less likely than this (logarithm, against a draw
that meets all) are given no weight: together they would have less than a hundredth."""

SOURCE = "calibrated on published behaviours by make/meter_parameters.py; nobody measured it"


def prior() -> dict[str, Floats]:
    """Draws spread evenly over the logarithms of all ranges: one array (n,) a parameter."""
    low, high = (np.log([getattr(q, end) for q in UNKNOWN.values()]) for end in ("low", "high"))
    even = qmc.Sobol(len(UNKNOWN), seed=SEED).random(PRIOR_DRAWS)
    return dict(zip(UNKNOWN, np.exp(low + (high - low) * even).T, strict=True))


def log_likelihood(figures: dict[str, Floats]) -> Floats:
    """Of the behaviours among `figures`, (n,); 0 where all are met."""
    known = [b for b in BEHAVIOURS if b.name in figures]
    return -0.5 * np.sum([(b.miss(figures[b.name]) / b.tolerance) ** 2 for b in known], axis=0)


def weights(columns: dict[str, Floats]) -> Floats:
    """How likely each draw is after the behaviours, (n,); they add up to 1."""
    log_weight = np.full(PRIOR_DRAWS, -np.inf)
    for begin in range(0, PRIOR_DRAWS, AT_ONCE):
        at = np.arange(begin, begin + AT_ONCE)
        first = log_likelihood(figures_in_patients(draws_of(part(columns, at))))
        left = at[first > HOPELESS]
        if not len(left):
            continue
        second = log_likelihood(figures_in_extracted_teeth(draws_of(part(columns, left))))
        log_weight[left] = first[first > HOPELESS] + second
    weight = np.exp(log_weight - log_weight.max())
    return weight / weight.sum()


def part(columns: dict[str, Floats], at: Floats) -> dict[str, Floats]:
    """Some draws."""
    return {name: column[at] for name, column in columns.items()}


def resampled(weight: Floats) -> Floats:
    """Places of `KEPT` draws, in proportion to their weights (systematic resampling)."""
    even = (np.arange(KEPT) + 0.5) / KEPT
    return np.searchsorted(np.cumsum(weight), even)


def effective_size(weight: Floats) -> float:
    """Effective sample size (Kish): draws of equal weight that would tell as much."""
    return float(1 / np.sum(weight**2))


def rows(columns: dict[str, Floats]) -> list[dict[str, object]]:
    """The table, one row a draw."""
    return [
        {"id": f"draw_{i + 1:02d}"}
        | {name: f"{column[i]:.4g}" for name, column in columns.items()}
        | {"source": SOURCE, "status": "computed"}
        for i in range(KEPT)
    ]


def main() -> None:
    """Write the table beside the others."""
    columns = prior()
    weight = weights(columns)
    table = rows(part(columns, resampled(weight)))
    path = Path(__file__).resolve().parents[1] / "meter_parameters.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, fieldnames=list(table[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(table)
    run = Run(PRIOR_DRAWS, round(effective_size(weight)), KEPT)
    as_printed = {name: np.array([float(str(row[name])) for row in table]) for name in UNKNOWN}
    PAGE.write_text(page(run, as_printed), encoding="utf-8")


if __name__ == "__main__":
    main()
