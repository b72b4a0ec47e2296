"""The second picture of lesson 07: what an ending costs, and what studies found, side by side.

Above, the loss of this course, a judgement, counted from the foramen. Below, published shares
that healed, counted from the radiographic apex: one dot a study and group, never one curve.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.text import Text

from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style, cue_for
from lengthwise.reconciliation.decision import Loss
from lengthwise.reference.findings import Group, Outcome, outcome_group, outcomes

SHORTEST_MM, LONGEST_MM = 4.0, -2.0
"""Ends of the picture: this far short of the foramen, and this far past it."""

LOWEST_WORDS_MM = -0.39
"""The name of the radiographic apex starts no further right than this."""

ENDS_MM: npt.NDArray[np.float64] = np.linspace(SHORTEST_MM, LONGEST_MM, 241)
MOST_COST = 20.0
LEAST_PERCENT, DOTS_FROM = 50.0, 0.30
"""Where the axis of the shares starts, and where it stands across the picture."""

MARKERS: dict[Group, str] = {"0-2 short": "o", "past": "^", "over 2 short": "v"}
ROWS: dict[Group, str] = {"0-2 short": "0–2 short", "past": "past", "over 2 short": "over 2 short"}
DOT = cue_for("electronic_reading").colour


@dataclass(frozen=True)
class Ending:
    """Where a filling ends and what is thought of it.

    Attributes
    ----------
    short_of_foramen_mm : negative when past it.
    apex_beyond_mm : from the foramen to the radiographic apex.
    loss : what the course counts.
    """

    short_of_foramen_mm: float
    apex_beyond_mm: float
    loss: Loss

    @property
    def group(self) -> Group:
        """Which group the studies would put it into."""
        return outcome_group(self.short_of_foramen_mm + self.apex_beyond_mm)


@dataclass(frozen=True)
class EndingsDrawing:
    """The figure with handles on everything in it that moves."""

    figure: Figure
    curve: Line2D
    apex: Line2D
    here: Line2D
    dot: Line2D
    apex_said: Text
    frames: tuple[tuple[Group, Rectangle], ...]

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        frames = [frame for _, frame in self.frames]
        return [self.curve, self.apex, self.here, self.dot, *frames, self.apex_said]

    def place(self, ending: Ending) -> None:
        """Move everything to where it belongs."""
        end, apex = ending.short_of_foramen_mm, -ending.apex_beyond_mm
        self.curve.set_data(ENDS_MM, np.asarray(ending.loss.cost(-ENDS_MM, 0.0)))
        self.apex.set_xdata([apex, apex])
        self.apex_said.set_position((max(apex, LOWEST_WORDS_MM), MOST_COST * 1.03))
        self.here.set_xdata([end, end])
        self.dot.set_data([end], [float(ending.loss.cost(-end, 0.0))])
        for group, frame in self.frames:
            frame.set_visible(group == ending.group)


@dataclass(frozen=True)
class EndingsPicture:
    """The drawing, alive; ``live.widget`` shows it."""

    drawing: EndingsDrawing
    live: LiveFigure

    def show(self, ending: Ending, sentence: str) -> None:
        """Draw this ending, with the sentence that says what it shows."""
        self.drawing.place(ending)
        self.live.show(sentence)


def endings_picture(ending: Ending, sentence: str) -> EndingsPicture:
    """Draw the loss and the published outcomes, ready to be moved."""
    drawing = draw_endings(ending)
    return EndingsPicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_endings(ending: Ending) -> EndingsDrawing:
    """Draw the plain figure in its start state."""
    studies: dict[tuple[str, str], list[Outcome]] = {}
    for one in outcomes():
        studies.setdefault((one.study, one.treatment), []).append(one)
    rows = len(studies) + sum(len(found) for found in studies.values())
    with course_style():
        figure = Figure(figsize=(4.5, 7.1))
        above = figure.add_axes((0.145, 0.745, 0.815, 0.15))
        below = figure.add_axes((DOTS_FROM, 0.08, 0.62, 0.50))
        _prepare_cost(above)
        _prepare_shares(below, rows)
        frames = _draw_studies(below, list(studies.values()))
        (curve,) = above.plot([], [], color=INK, lw=2)
        apex = above.axvline(0.0, color=INK, lw=1.2, ls=(0, (2, 1)))
        here = above.axvline(0.0, color=DOT, lw=1.6)
        (dot,) = above.plot([], [], "o", color=DOT)
        said = above.text(0, 0, "radiographic\napex", va="bottom", ha="left")
        drawing = EndingsDrawing(figure, curve, apex, here, dot, said, frames)
        drawing.place(ending)
    return drawing


def _prepare_cost(axes: Axes) -> None:
    axes.set_xlim(SHORTEST_MM, LONGEST_MM)
    axes.set_ylim(0.0, MOST_COST)
    axes.set_yticks([0, 10, 20])
    ticks = np.arange(SHORTEST_MM, LONGEST_MM - 0.5, -1.0)
    axes.set_xticks(ticks, [f"{abs(tick):.0f}" for tick in ticks])
    axes.set_xlabel("mm short ← end of the filling → mm past")
    axes.set_ylabel("loss", labelpad=1)
    axes.figure.text(0.015, 0.995, "The loss of this course: a judgement", va="top", ha="left")
    past = Rectangle((0, 0), LONGEST_MM, MOST_COST, fc="none", ec="#9a9a9a", hatch="//", lw=0)
    axes.add_patch(past)
    axes.axvline(0.0, color=INK, lw=1.6)
    axes.text(-0.05, MOST_COST * 1.03, "foramen", va="bottom", ha="right")


def _prepare_shares(axes: Axes, rows: int) -> None:
    axes.set_xlim(LEAST_PERCENT, 104.0)
    axes.set_ylim(rows - 0.4, -0.6)
    axes.set_yticks([])
    axes.set_xticks([50, 60, 70, 80, 90, 100])
    axes.grid(axis="x")
    axes.set_xlabel("healed (of 100)")
    axes.figure.text(
        0.015,
        0.59,
        "Published; counted from the radiographic apex.\nFramed: the group of this filling.",
        va="bottom",
        ha="left",
    )


def _draw_studies(axes: Axes, studies: list[list[Outcome]]) -> tuple[tuple[Group, Rectangle], ...]:
    frames, row = [], 0
    across = axes.get_yaxis_transform()  # shares of the axes across, rows down
    left = -DOTS_FROM / 0.62 + 0.03
    for found in studies:
        axes.text(left, row, _heading(found[0]), transform=across, va="center", ha="left")
        for one in found:
            row += 1
            axes.text(left + 0.04, row, ROWS[one.group], transform=across, va="center", ha="left")
            _draw_share(axes, one, row)
            frame = Rectangle((left, row - 0.46), 1.12 - left - 0.04, 0.92, transform=across,
                              fc="none", ec=INK, lw=1.6, clip_on=False)  # fmt: skip
            axes.add_patch(frame)
            frames.append((one.group, frame))
        row += 1
    return tuple(frames)


def _heading(one: Outcome) -> str:
    return f"{one.study} {one.year}: {one.pulp}"


def _draw_share(axes: Axes, one: Outcome, row: int) -> None:
    percent = one.healed_percent
    if one.plus_minus_share is not None:
        half = 100 * one.plus_minus_share
        axes.errorbar(percent, row, xerr=half, color=DOT, capsize=5, lw=2)
    axes.plot([percent], [row], MARKERS[one.group], color=DOT, ms=7)
    axes.text(LEAST_PERCENT + 1.0, row, f"{percent:g}", va="center", ha="left")
