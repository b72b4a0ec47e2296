"""The picture of lesson 06: every source a ridge on one ruler, the answer under them.

A source that says much stands tall and narrow, one that says little lies low and wide. The part
of the answer that the working length has passed is hatched and counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text

from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, Cue, course_style, cue_for

Floats = npt.NDArray[np.float64]

ROW_HEIGHT_IN = 0.6
RIDGE_SHARE = 0.6
"""How much of a row a ridge may fill; the rest is for its words."""
ANSWER_ROWS = 1.9
ANSWER_HEIGHT = 1.1
LONGEST_NAME = 30
"""Letters of a source's name that fit beside what it says; the table has the whole name."""


@dataclass(frozen=True)
class Hill:
    """One source as it is to be drawn.

    Attributes
    ----------
    density
        1/mm on the ruler.
    middle_mm
        Where its marker stands; None for a source that is left out.
    said
        What it says, in a few words, at the right end of its row.
    weight
        1.0 for a source that is kept; less draws it paler.
    """

    density: Floats
    middle_mm: float | None
    said: str
    weight: float


@dataclass(frozen=True)
class Answer:
    """The answer as it is to be drawn.

    Attributes
    ----------
    density
        1/mm on the ruler.
    length_mm
        The working length (mm); None while no length should be taken.
    said
        What is hatched, in a few words.
    plain_mean_mm
        Where a mean of the sources at their word would put the end (mm); None without sources.
    """

    density: Floats
    length_mm: float | None
    said: str
    plain_mean_mm: float | None


@dataclass(frozen=True)
class _Row:
    hill: Polygon
    marker: Line2D
    words: Text
    base: float


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves, in drawing order."""

    figure: Figure
    ruler_mm: Floats
    rows: tuple[_Row, ...]
    answer_hill: Polygon
    past: Polygon
    length_line: Line2D
    length_words: Text
    answer_words: Text
    mean_mark: Line2D
    mean_words: Text
    peak_source: float
    peak_answer: float

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes when a source does."""
        parts: list[Artist] = [p for row in self.rows for p in (row.hill, row.marker, row.words)]
        answer = [self.answer_hill, self.past, self.length_line, self.mean_mark]
        return [*parts, *answer, self.length_words, self.answer_words, self.mean_words]

    def place(self, hills: Sequence[Hill], answer: Answer) -> None:
        """Move every ridge and the answer to where they belong now."""
        for row, hill in zip(self.rows, hills, strict=True):
            _place_row(row, self.ruler_mm, hill, self.peak_source)
        _place_answer(self, answer)


@dataclass(frozen=True)
class RulerPicture:
    """The drawing, alive; ``live.widget`` shows it."""

    drawing: Drawing
    live: LiveFigure

    def show(self, hills: Sequence[Hill], answer: Answer, sentence: str) -> None:
        """Move everything to where it belongs now, and send the picture with its sentence."""
        self.drawing.place(hills, answer)
        self.live.show(sentence)


def ruler_picture(
    ruler_mm: Floats,
    sources: Sequence[tuple[str, str]],
    hills: Sequence[Hill],
    answer: Answer,
    sentence: str,
) -> RulerPicture:
    """Draw the ruler with its sources once, ready to be moved.

    Parameters
    ----------
    ruler_mm
        Equally spaced lengths (mm) from the reference point, growing.
    sources
        Name and kind of each source, from top to bottom.
    hills, answer
        The start state; one ridge for each source.
    sentence
        What the start state shows.

    Returns
    -------
    RulerPicture
        Its ``live.widget`` shows the start state.
    """
    drawing = draw_ruler(ruler_mm, sources, hills, answer)
    return RulerPicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_ruler(
    ruler_mm: Floats, sources: Sequence[tuple[str, str]], hills: Sequence[Hill], answer: Answer
) -> Drawing:
    """Draw the ruler as a plain figure, in its start state; arguments as in `ruler_picture`."""
    count = len(sources)
    height = ROW_HEIGHT_IN * (count + ANSWER_ROWS) + 1.0
    with course_style():
        figure = Figure(figsize=(4.5, height))
        axes = figure.add_axes((0.03, 0.66 / height, 0.94, 1 - 1.0 / height))
        _prepare(axes, ruler_mm, count)
        rows = tuple(
            _row(axes, ruler_mm, name, cue_for(kind), float(count - 1 - i) + ANSWER_ROWS)
            for i, (name, kind) in enumerate(sources)
        )
        answer_hill = Polygon([(0, 0)], closed=True, facecolor="#d0d0d0", edgecolor=INK, lw=2)
        past = Polygon([(0, 0)], closed=True, facecolor="none", edgecolor=INK, hatch="////", lw=0)
        for patch in (answer_hill, past):
            axes.add_patch(patch)
        (line,) = axes.plot([], [], color=INK, lw=2.5)
        top = count + ANSWER_ROWS
        length_words = axes.text(0, top + 0.06, "", ha="center", va="bottom")
        left = ruler_mm[0] + 0.05
        axes.text(left, ANSWER_ROWS - 0.42, "all together", va="bottom", weight="bold")
        answer_words = axes.text(left, ANSWER_ROWS - 0.74, "", va="bottom")
        right, level = ruler_mm[-1] - 0.05, ANSWER_ROWS - 0.42
        mean_words = axes.text(right, level, "", va="bottom", ha="right")
        (mean_mark,) = axes.plot([], [], "d", mec=INK, mfc="white", mew=1.5, ms=9, clip_on=False)
        drawing = Drawing(
            figure,
            ruler_mm,
            rows,
            answer_hill,
            past,
            line,
            length_words,
            answer_words,
            mean_mark,
            mean_words,
            peak_source=max(float(hill.density.max()) for hill in hills),
            peak_answer=float(answer.density.max()),
        )
        drawing.place(hills, answer)
    return drawing


def _prepare(axes: Axes, ruler_mm: Floats, count: int) -> None:
    axes.set_xlim(ruler_mm[0], ruler_mm[-1])
    axes.set_ylim(0, count + ANSWER_ROWS + 0.02)
    axes.set_yticks([])
    axes.set_xticks(np.arange(np.ceil(ruler_mm[0]), np.floor(ruler_mm[-1]) + 1))
    axes.set_xticks(np.arange(ruler_mm[0], ruler_mm[-1] + 0.01, 0.5), minor=True)
    axes.set_xlabel("length from the reference point (mm)")
    axes.grid(axis="x")
    axes.set_axisbelow(True)


def _row(axes: Axes, ruler_mm: Floats, name: str, cue: Cue, base: float) -> _Row:
    axes.axhline(base, color="#9a9a9a", lw=0.8)
    short = name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1] + "…"
    axes.text(ruler_mm[0] + 0.05, base + RIDGE_SHARE, short, va="bottom", color=cue.colour)
    hill = Polygon([(0, 0)], closed=True, edgecolor=cue.colour, facecolor=cue.colour, lw=2)
    hill.set_linestyle(cue.dash)
    axes.add_patch(hill)
    (marker,) = axes.plot([], [], cue.marker, color=cue.colour, clip_on=False)
    words = axes.text(
        ruler_mm[-1] - 0.05, base + RIDGE_SHARE, "", va="bottom", ha="right", color=cue.colour
    )
    return _Row(hill, marker, words, base)


def _place_row(row: _Row, ruler_mm: Floats, hill: Hill, peak: float) -> None:
    # Square root: a source a hundred times as vague as another can still be seen.
    height = np.sqrt(hill.density / peak)
    height *= RIDGE_SHARE / max(1.0, float(height.max()))
    row.hill.set_xy(_outline(ruler_mm, row.base, height))
    row.hill.set_facecolor((*row.hill.get_edgecolor()[:3], 0.3 * hill.weight))
    row.hill.set_linewidth(0.5 + 1.5 * hill.weight)
    row.words.set_text(hill.said)
    middle = hill.middle_mm
    at = [] if middle is None or not ruler_mm[0] <= middle <= ruler_mm[-1] else [middle]
    row.marker.set_data(at, [row.base] * len(at))


def _place_answer(picture: Drawing, answer: Answer) -> None:
    ruler = picture.ruler_mm
    height = answer.density / picture.peak_answer
    height *= ANSWER_HEIGHT / max(1.0, float(height.max()))
    picture.answer_hill.set_xy(_outline(ruler, 0.0, height))
    length = answer.length_mm
    passed = np.zeros_like(height) if length is None else np.where(ruler <= length, height, 0.0)
    picture.past.set_xy(_outline(ruler, 0.0, passed))
    picture.answer_words.set_text(answer.said)
    mean = answer.plain_mean_mm
    picture.mean_words.set_text("" if mean is None else f"◇ plain mean {mean:.1f} mm")
    at = [] if mean is None or not ruler[0] <= mean <= ruler[-1] else [mean]
    picture.mean_mark.set_data(at, [0.0] * len(at))
    if length is None:
        picture.length_line.set_data([], [])
        picture.length_words.set_text("no working length yet")
        picture.length_words.set_x(float(ruler.mean()))
        return
    picture.length_line.set_data(*_through_the_ridges(length, picture.rows))
    picture.length_words.set_text(f"working length {length:.2f} mm")
    # The words stay inside the picture when the line runs to its edge.
    picture.length_words.set_x(float(np.clip(length, ruler[0] + 1.5, ruler[-1] - 1.5)))


def _through_the_ridges(length_mm: float, rows: Sequence[_Row]) -> tuple[list[float], list[float]]:
    """A line down through every ridge that leaves the words between them readable."""
    xs, ys = [length_mm, length_mm, np.nan], [0.0, ANSWER_HEIGHT, np.nan]
    for row in rows:
        xs += [length_mm, length_mm, np.nan]
        ys += [row.base, row.base + RIDGE_SHARE, np.nan]
    return xs, ys


def _outline(ruler_mm: Floats, base: float, height: Floats) -> Floats:
    xs = np.concatenate([ruler_mm[:1], ruler_mm, ruler_mm[-1:]])
    return np.stack([xs, base + np.concatenate([[0.0], height, [0.0]])], axis=1)
