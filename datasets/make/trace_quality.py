"""Make ``trace_weights.csv``: how likely a trace is to be usable, learnt on the bench.

Run from the top of the checkout: ``python datasets/make/trace_quality.py``. Traces of canals of
eight kinds of tooth, each patient in a draw of the meter's calibration, under conditions on a
continuum; whether one can be used is decided by its outcome: does the depth that it implies lie
within half a millimetre of the foramen? Other teeth and seeds test the result.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import statsmodels
import statsmodels.api as sm
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.meter import draw_traces
from lengthwise.reconciliation.trace_quality import features_of, usual_offset_mm
from lengthwise.reconciliation.trace_signs import numbers_of
from lengthwise.reference import traces as t

TEETH = (("11", None), ("15", None), ("33", None), ("34", None),
         ("41", None), ("36", "D"), ("26", "P"), ("24", None))  # fmt: skip
EACH = 1000
SEED = 101
FILE_SIZES, FILE_SHARES = (8, 10, 15), (0.2, 0.5, 0.3)
COLUMNS = ("id", "weight", "sd", "source", "status")
SOURCE = (
    f"logistic regression (statsmodels {statsmodels.__version__}) on {{n}} traces of the simulated "
    "patient that reached the foramen signal, by make/trace_quality.py"
)


def traces_of(
    tooth: str, canal: str | None, rng: np.random.Generator
) -> tuple[list[dict[str, float]], list[bool]]:
    """Features of the traces with a signal, and whether each can be used."""
    canals = draw_canals(tooth, EACH, rng, canal=canal)
    sizes = rng.choice(FILE_SIZES, EACH, p=FILE_SHARES)
    traces = draw_traces(canals, rng, file_size=sizes)
    features, usable = [], []
    for i in range(EACH):
        there = np.isfinite(traces.depth_mm[i])
        numbers = numbers_of(
            traces.time_s[i, there], traces.depth_mm[i, there], traces.indicated[i, there]
        )
        if numbers.signal_mm is None:
            continue
        off = numbers.signal_mm - usual_offset_mm() - canals.foramen_mm[i]
        features.append(features_of(numbers))
        usable.append(bool(abs(off) <= t.CLOSE_ENOUGH_MM.value))
    return features, usable


def main() -> None:
    """Fit, and write the table."""
    rng = np.random.default_rng(SEED)
    features: list[dict[str, float]] = []
    usable: list[bool] = []
    for tooth, canal in TEETH:
        more, them = traces_of(tooth, canal, rng)
        features += more
        usable += them
    names = list(features[0])
    matrix = np.array([[each[name] for name in names] for each in features])
    fit = sm.Logit(np.array(usable, dtype=float), matrix).fit(disp=False, maxiter=200)
    path = Path(__file__).resolve().parents[1] / "trace_weights.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(COLUMNS)
        for name, weight, sd in zip(names, fit.params, fit.bse, strict=True):
            source = SOURCE.format(n=len(usable))
            writer.writerow((name, f"{weight:.3f}", f"{sd:.3f}", source, "computed"))


if __name__ == "__main__":
    main()
