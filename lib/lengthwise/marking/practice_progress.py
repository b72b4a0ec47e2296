"""How somebody is doing in practice: error, bias, coverage, beliefs over time, and all as CSV."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .clues import Clue
from .diagnosis import named_in
from .practice_difficulty import Rating
from .practice_record import Finished

BLOCK = 10
"""Beliefs are looked for in so many cases at a time."""

COLUMNS = (
    "case", "kind", "tooth", "low_mm", "high_mm", "working_length_mm", "next_step", "foramen_mm",
    "supported_length_mm", "error_mm", "interval_holds_foramen", "marks_share", "minutes",
    "exposures", "level_logit", "level_sd_logit",
)  # fmt: skip


@dataclass(frozen=True)
class Summary:
    """Some cases in numbers; None where no length was taken in them.

    Attributes
    ----------
    cases, lengths : how many, and in how many of them a length was taken.
    share : mean marks, 0 to 1.
    bias_mm, error_mm : mean error of the middle of the interval, and its mean size.
    covered : share of the intervals that hold the foramen; 0.9 is meant.
    width_mm : mean width of the intervals.
    minutes, exposures : means a case.
    """

    cases: int
    lengths: int
    share: float
    bias_mm: float | None
    error_mm: float | None
    covered: float | None
    width_mm: float | None
    minutes: float
    exposures: float


def summarised(cases: Sequence[Finished]) -> Summary:
    """Put one case or more into numbers."""
    errors = [each.error_mm for each in cases if each.error_mm is not None]
    widths = [
        each.high_mm - each.low_mm
        for each in cases
        if each.low_mm is not None and each.high_mm is not None
    ]
    return Summary(
        cases=len(cases),
        lengths=len(errors),
        share=float(np.mean([each.share for each in cases])),
        bias_mm=float(np.mean(errors)) if errors else None,
        error_mm=float(np.mean(np.abs(errors))) if errors else None,
        covered=float(np.mean([bool(c.covered) for c in cases if c.covered is not None]))
        if errors
        else None,
        width_mm=float(np.mean(widths)) if widths else None,
        minutes=float(np.mean([each.minutes for each in cases])),
        exposures=float(np.mean([each.exposures for each in cases])),
    )


def blocks_of(cases: Sequence[Finished]) -> list[tuple[int, Sequence[Finished]]]:
    """Ten cases at a time, each with the number of its first; the last may be shorter."""
    return [(at + 1, cases[at : at + BLOCK]) for at in range(0, len(cases), BLOCK)]


def beliefs_over_time(cases: Sequence[Finished]) -> list[tuple[str, ...]]:
    """For each block of ten cases the beliefs that its answers look like, by their ids."""
    return [
        tuple(named.misconception for named in named_in(_work(first, some)))
        for first, some in blocks_of(cases)
    ]


def _work(first: int, cases: Sequence[Finished]) -> list[tuple[str, Clue]]:
    return [
        (f"case {number}", clue)
        for number, case in enumerate(cases, start=first)
        for clue in case.clues
    ]


def as_csv(cases: Sequence[Finished], levels: Sequence[Rating]) -> str:
    """All cases as comma-separated values, one row a case; levels as in `PracticeRecord`.

    >>> as_csv([], [Rating()]).strip().split(",")[:3]
    ['case', 'kind', 'tooth']
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for number, (case, level) in enumerate(zip(cases, levels[1:], strict=True), start=1):
        error = None if case.error_mm is None else round(case.error_mm, 3)
        row = (
            number, case.kind, case.tooth, case.low_mm, case.high_mm, case.length_mm, case.step,
            case.foramen_mm, case.supported_mm, error, case.covered, case.share, case.minutes,
            case.exposures, round(level.logit, 3), round(level.sd_logit, 3),
        )  # fmt: skip
        writer.writerow(["" if value is None else value for value in row])
    return text.getvalue()
