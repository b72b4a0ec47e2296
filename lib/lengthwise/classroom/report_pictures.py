"""The pictures of the reports in the course's look, each with a sentence that says the same."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from lengthwise.classroom.agreement import Limits, limits_of_agreement
from lengthwise.classroom.report_page import Picture, figure_text

if TYPE_CHECKING:
    from matplotlib.figure import Figure

STYLE_FILE = Path(__file__).parents[1] / "panels" / "lengthwise.mplstyle"
WIDTH_INCHES = 4.5
"""As all pictures of the course: text of 12.5 pt stays readable on a phone."""

LABEL_CHARS = 46
"""So much text fits into a picture's width; tables have all of it."""

FEW_TICKS = 4
"""So many steps leave room between figures of five characters, beside a column of names."""

MARKERS = "osD^vP"
GOLDEN = 0.618034
"""Steps of the golden section never fall on each other."""

MOST_ROWS = 36
"""A picture with a row for each student shows at most so many."""

Floats = npt.NDArray[np.float64]


def _png(figure: Figure) -> bytes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(figure)
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=200)
    return stream.getvalue()


def _figure(height_inches: float) -> Figure:
    from matplotlib.figure import Figure

    return Figure(figsize=(WIDTH_INCHES, height_inches), layout="constrained")


def agreement_picture(given_mm: Floats, true_mm: Floats, limits: Limits, sentence: str) -> Picture:
    """Errors against the mean of answer and truth, with limits (Bland & Altman 1986).

    Parameters
    ----------
    given_mm, true_mm : answers and true lengths, in pairs.
    limits : of their differences.
    """
    import matplotlib.style

    with matplotlib.style.context(STYLE_FILE):
        figure = _figure(4.0)
        axes = figure.add_subplot()
        axes.plot((given_mm + true_mm) / 2, given_mm - true_mm, "o", color="C2", alpha=0.6)
        axes.axhline(0, color="0.35", linewidth=1.0, zorder=0)
        for value, dash, words in (
            (limits.mean, "-", "mean"),
            (limits.low, "--", "limit"),
            (limits.high, "--", "limit"),
        ):
            if np.isfinite(value):
                axes.axhline(value, color="#1a1a1a", linestyle=dash, linewidth=1.6)
                axes.annotate(
                    f"{words}\n{figure_text(value, sign=True)}",
                    (1.0, value),
                    xycoords=("axes fraction", "data"),
                    xytext=(4, 0),
                    textcoords="offset points",
                    va="center",
                )
        axes.set_xlabel("mean of answer and true length (mm)")
        axes.set_ylabel("answer − true length (mm)")
        axes.margins(y=0.12)
        return Picture(_png(figure), sentence)


def errors_picture(errors_mm: Mapping[str, Floats], sentence: str) -> Picture:
    """Every error in a row for its method, with its mean and limits of agreement."""
    import matplotlib.style

    with matplotlib.style.context(STYLE_FILE):
        figure = _figure(1.1 + 0.95 * len(errors_mm))
        axes = figure.add_subplot()
        axes.axvline(0, color="0.35", linewidth=1.0, zorder=0)
        for row, (name, errors) in enumerate(errors_mm.items()):
            # Spread evenly across the row, the same way every time.
            across = (np.arange(errors.size) * GOLDEN % 1 - 0.5) * 0.36
            many = errors.size > 400
            axes.plot(
                errors,
                row + across,
                MARKERS[row % len(MARKERS)],
                color=f"C{row % 6}",
                alpha=0.15 if many else 0.4,
                markersize=3 if many else 4.5,
                markeredgewidth=0,
            )
            limits = limits_of_agreement(errors)
            for value, dash, reach in (
                (limits.mean, "-", 0.3),
                (limits.low, (0, (3, 1.5)), 0.24),
                (limits.high, (0, (3, 1.5)), 0.24),
            ):
                if np.isfinite(value):
                    ends = [row - reach, row + reach]
                    axes.plot([value, value], ends, color="#1a1a1a", linestyle=dash)
            axes.annotate(
                name,
                (0.0, row - 0.3),
                xycoords=("axes fraction", "data"),
                xytext=(0, 2),
                textcoords="offset points",
                va="bottom",
                # The line at 0 stops at the name.
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0},
            )
        axes.set_yticks([])
        axes.set_ylim(len(errors_mm) - 0.6, -0.65)
        axes.set_xlabel("measured − true length (mm)")
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
        axes.set_yticks(range(len(shown)), [name for name, _ in shown])
        axes.set_ylim(len(shown) - 0.4, -0.6)
        axes.locator_params(axis="x", nbins=FEW_TICKS)
        axes.set_xlabel("interval minus the true length (mm)")
        axes.tick_params(axis="y", length=0)
        return Picture(_png(figure), sentence)


def parts_picture(difficulty: Mapping[str, float], sentence: str) -> Picture:
    """Of each question the share of its points that the class earned."""
    import matplotlib.style

    with matplotlib.style.context(STYLE_FILE):
        figure = _figure(1.0 + 0.5 * len(difficulty))
        axes = figure.add_subplot()
        for row, (name, share) in enumerate(difficulty.items()):
            axes.plot([0, 100 * share], [row, row], "-", color="C3")
            axes.plot(100 * share, row, "o", color="C3", clip_on=False)
            label = textwrap.shorten(name.removeprefix("case: "), LABEL_CHARS, placeholder=" …")
            said = axes.annotate(label, (0, row), (0, 5), textcoords="offset points", va="bottom")
            said.set_in_layout(False)
        axes.set_yticks([])
        axes.set_ylim(len(difficulty) - 0.6, -0.8)
        axes.set_xlim(0, 100)
        axes.set_xlabel("points earned (%)")
        return Picture(_png(figure), sentence)
