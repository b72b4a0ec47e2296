"""The tables that both reports share: how far off, and how sure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lengthwise.classroom.agreement import (
    dahlberg_error,
    limits_of_agreement,
    share_of,
)
from lengthwise.classroom.report_page import figure_text, percent_text, range_text
from lengthwise.marking.interval_score import INTERVAL_PROBABILITY, interval_score
from lengthwise.marking.sheet import Sheet

Floats = npt.NDArray[np.float64]

CLOSE_MM = 0.5
"""A length this close counts as close, as in most published series."""

SLACK_MM = 1e-9
"""A difference of exactly half a millimetre is close, whatever the machine makes of it."""

LIMITS_HEAD, REACH_HEAD = "limits of agreement (mm)", "each ± (mm)"

ABOUT_ERRORS = (
    "Error is the length given minus the true length: above 0 is long, below 0 is short. Bias is "
    "its mean, SD its spread. Between the limits of agreement (bias ± 1.96 SD; Bland & Altman "
    "1986) lie about 95 in 100 errors, when their spread is even and they do not depend on each "
    "other; where one canal is measured again and again, they are a little too close together. "
    "The column after them says how far each limit may itself be off (95 %); with few lengths it "
    "is much."
)
ABOUT_SURENESS = (
    "A 90 % interval should hold the true length nine times in ten. The interval score is its "
    "width plus 20 times each miss (Gneiting & Raftery 2007), in mm: smaller is better, and "
    "neither boasting nor hiding pays. Ranges behind a share are 95 % intervals (Wilson)."
)


@dataclass(frozen=True)
class Group:
    """What is known of one student, method or tooth.

    ``errors_mm``: lengths minus true lengths. ``figure_mm``: how large errors are in one figure,
    Dahlberg's from repeats or the RMS error; the head of its column says which.
    ``ends_mm``: shape (intervals, 2), the ends of 90 % intervals minus true lengths.
    """

    name: str
    errors_mm: Floats
    figure_mm: float
    ends_mm: Floats


def errors_sheet(caption: str, head: str, figure_head: str, groups: Sequence[Group]) -> Sheet:
    """How far off each group is."""
    rows = []
    for one in groups:
        found = limits_of_agreement(one.errors_mm)
        close = np.abs(one.errors_mm) <= CLOSE_MM + SLACK_MM
        rows.append(
            (
                one.name,
                str(found.n),
                figure_text(found.mean, sign=True),
                figure_text(found.sd),
                range_text(found.low, found.high),
                figure_text(found.reach),
                figure_text(one.figure_mm),
                percent_text(float(close.mean()) if found.n else None),
            )
        )
    heads = (head, "lengths", "bias (mm)", "SD (mm)", LIMITS_HEAD, REACH_HEAD,
             figure_head, f"within {CLOSE_MM:g} mm")  # fmt: skip
    return Sheet(caption, heads, tuple(rows))


def dahlberg_sentence(errors_mm: Sequence[float]) -> str:
    """What the RMS error is, and Dahlberg's figure beside it, for whoever compares with others.

    >>> "0.18 mm here" in dahlberg_sentence([0.3, -0.4, 0.0, 0.0])
    True
    """
    pairs = np.concatenate([errors_mm, np.zeros(len(errors_mm))])
    figure = dahlberg_error(pairs, np.tile(np.arange(len(errors_mm)), 2))
    return (
        "RMS error is the root of the mean square of the errors. Dahlberg's figure for pairs, "
        f"{figure_text(figure)} mm here for all together, takes the true length for a second "
        "measurement, as uncertain as the first, and is smaller by the root of two. Compare it "
        "with published figures of pairs, not with Dahlberg errors of repeats."
    )


def holding(ends_mm: Floats) -> int:
    """How many intervals hold the true length, of their ends minus it."""
    return int(((ends_mm[:, 0] <= 0) & (ends_mm[:, 1] >= 0)).sum())


def sureness_sheet(caption: str, head: str, groups: Sequence[Group]) -> Sheet:
    """How often each group's intervals hold the true length, their width and score."""
    rows = []
    for one in groups:
        n = len(one.ends_mm)
        if not n:
            continue
        low, high = one.ends_mm.T
        held = share_of(holding(one.ends_mm), n)
        rows.append(
            (
                one.name,
                str(n),
                f"{holding(one.ends_mm)} ({percent_text(held.value)})",
                f"{100 * held.low:.0f} to {100 * held.high:.0f} %",
                figure_text(float((high - low).mean())),
                figure_text(float(interval_score(low, high, 0.0).mean())),
            )
        )
    promised = f"{100 * INTERVAL_PROBABILITY:.0f} % intervals"
    heads = (head, promised, "hold the true length", "likely range", "mean width (mm)",
             "interval score (mm)")  # fmt: skip
    return Sheet(caption, heads, tuple(rows))


def sureness_sentence(who: str, ends_mm: Floats) -> str:
    """Whether intervals keep their promise, in a sentence; empty where there are none."""
    n = len(ends_mm)
    if not n:
        return ""
    held = share_of(holding(ends_mm), n)
    if held.high < INTERVAL_PROBABILITY:
        verdict = "Too narrow: over-confident."
    elif held.low > INTERVAL_PROBABILITY:
        verdict = "Wider than they need to be."
    else:
        verdict = "That agrees with nine in ten, as far as this number can tell."
    return (
        f"{holding(ends_mm)} of {n} intervals of {who} hold the true length "
        f"({percent_text(held.value)}; 90 % is the promise). {verdict}"
    )
