"""The pictures of the reports in the course's look, each with a sentence that says the same."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from lengthwise.classroom.agreement import Limits
from lengthwise.classroom.report_page import Picture

if TYPE_CHECKING:
    from matplotlib.figure import Figure

STYLE_FILE = Path(__file__).parents[1] / "panels" / "lengthwise.mplstyle"
WIDTH_INCHES = 6.0
MARKERS = "osD^vP"
MOST_ROWS = 36
"""A picture with a row for each student shows at most so many."""

Floats = npt.NDArray[np.float64]


def _png(figure: Figure) -> bytes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(figure)
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=160)
    return stream.getvalue()


def _figure(height_inches: float) -> Figure:
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH_INCHES, height_inches), layout="constrained")


def agreement_picture(
    pairs: Mapping[str, tuple[npt.ArrayLike, npt.ArrayLike]],
    limits: Limits,
    *,
    answer: str,
    reference: str,
    sentence: str,
) -> Picture:
    """Differences against means, with mean and limits of agreement (Bland & Altman 1986).

    Parameters
    ----------
    pairs : by group, answers and references in mm; each group has a colour and a marker.
    limits : of all differences together.
    answer, reference : what the two are called.
    sentence : what the picture shows.
    """
    import matplotlib.style

    with matplotlib.style.context(STYLE_FILE):
        figure = _figure(4.4)
        axes = figure.add_subplot()
        for number, (name, (given, true)) in enumerate(pairs.items()):
            one, other = np.asarray(given, dtype=float), np.asarray(true, dtype=float)
            axes.plot(
                (one + other) / 2,
                one - other,
                MARKERS[number % len(MARKERS)],
                color=f"C{number % 6}",
                alpha=0.7 if one.size < 400 else 0.3,
                markersize=6 if one.size < 400 else 3,
                label=name if len(pairs) > 1 else None,
                rasterized=True,
            )
        axes.axhline(0, color="0.35", linewidth=1.0, zorder=0)
        for value, dash, words in (
            (limits.mean, "-", "mean"),
            (limits.low, "--", "limit"),
            (limits.high, "--", "limit"),
        ):
            if np.isfinite(value):
                axes.axhline(value, color="#1a1a1a", linestyle=dash, linewidth=1.6)
                axes.annotate(
                    f"{words} {value:+.2f}".replace("-", "−"),
                    (1.0, value),
                    xycoords=("axes fraction", "data"),
                    xytext=(4, 0),
                    textcoords="offset points",
                    va="center",
                    fontsize=11,
                )
        axes.set_xlabel(f"mean of {answer} and {reference} (mm)")
        axes.set_ylabel(f"{answer} − {reference} (mm)")
        axes.margins(y=0.12)
        if len(pairs) > 1:
            figure.legend(loc="outside upper left", ncols=3, fontsize=11)
        return Picture(_png(figure), sentence)


def intervals_picture(
    rows: Mapping[str, Sequence[tuple[float, float]]], sentence: str
) -> Picture | None:
    """Every interval of every student about the true length, at most `MOST_ROWS` students.

    Parameters
    ----------
    rows : by student, the ends of each interval minus the true length (mm).
    """
    import matplotlib.style

    held = {name: ends for name, ends in rows.items() if ends}
    if not held:
        return None
    shown = list(held.items())[:MOST_ROWS]
    with matplotlib.style.context(STYLE_FILE):
        figure = _figure(1.5 + 0.3 * len(shown))
        axes = figure.add_subplot()
        for row, (_, ends) in enumerate(shown):
            for place, (low, high) in zip(np.linspace(-0.3, 0.3, len(ends)), ends, strict=True):
                held_true = low <= 0 <= high
                axes.plot(
                    [low, high],
                    [row + (place if len(ends) > 1 else 0)] * 2,
                    "-" if held_true else "x-",
                    color="C3" if held_true else "C1",
                    linewidth=1.6,
                    markersize=5,
                )
        axes.axvline(0, color="#1a1a1a", linewidth=1.2)
        axes.set_yticks(range(len(shown)), [name for name, _ in shown], fontsize=10.5)
        axes.set_ylim(len(shown) - 0.4, -0.6)
        axes.set_xlabel("interval minus the true length (mm)")
        axes.tick_params(axis="y", length=0)
        return Picture(_png(figure), sentence)


def parts_picture(difficulty: Mapping[str, float], sentence: str) -> Picture:
    """Of each question the share of its points that the class earned."""
    import matplotlib.style

    with matplotlib.style.context(STYLE_FILE):
        figure = _figure(1.2 + 0.34 * len(difficulty))
        axes = figure.add_subplot()
        places = np.arange(len(difficulty))
        shares = 100 * np.array(list(difficulty.values()))
        axes.hlines(places, 0, shares, color="C3", linewidth=2)
        axes.plot(shares, places, "o", color="C3", clip_on=False)
        axes.set_yticks(places, list(difficulty), fontsize=10.5)
        axes.set_ylim(len(difficulty) - 0.5, -0.5)
        axes.set_xlim(0, 100)
        axes.set_xlabel("points earned (%)")
        axes.tick_params(axis="y", length=0)
        return Picture(_png(figure), sentence)
