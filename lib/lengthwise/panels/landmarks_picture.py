"""The picture of lesson 01: a tooth in long section with its landmarks, over 1 000 of its kind.

Everything is to one scale for all teeth, so that a long tooth looks long. The tooth is the
population's mean one, stretched to its length; it is seen from the cheek side, distal to the
right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text

from lengthwise.anatomy.teeth import Outline
from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style, cue_for

Floats = npt.NDArray[np.float64]

ENAMEL, DENTINE, CANAL = "#ffffff", "#ead9b0", "#7a4a3a"
AVERAGE = cue_for("average_length")
LONGEST_MM, SHORTEST_MM = 34.0, 14.0
BIN_MM = 0.5
BINS_MM = np.arange(SHORTEST_MM, LONGEST_MM + BIN_MM / 2, BIN_MM)
MIDDLE_MM, TICK_MM, WORDS_MM = 6.0, 5.4, 13.0
"""Across the picture: the tooth's axis, how far a tick reaches, where its words start."""

WORDS_APART_MM = 1.55
TURN_MM = 1.4
"""Over this last part the canal leaves the axis for the side on which it opens."""

LABELS = ("crown meets root", "textbook average", "constriction", "working length", "foramen",
          "anatomical apex")  # fmt: skip


@dataclass(frozen=True)
class Section:
    """A tooth as it is to be drawn.

    Attributes
    ----------
    outline : outside of this kind of tooth.
    length_mm, foramen_mm, constriction_mm : from the reference point.
    canal_mm : widths of the canal at the cervix, 5 and 2 mm before the foramen, at the
        constriction and at the foramen.
    marks_mm : where each of `LABELS` is.
    """

    outline: Outline
    length_mm: float
    foramen_mm: float
    constriction_mm: float
    canal_mm: tuple[float, float, float, float, float]
    marks_mm: Mapping[str, float]


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves."""

    figure: Figure
    enamel: Polygon
    dentine: Polygon
    canal: Polygon
    ticks: Mapping[str, Line2D]
    words: Mapping[str, Text]
    hill: Polygon
    tail: Polygon
    average: Line2D
    here: Line2D

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        tooth: list[Artist] = [self.enamel, self.dentine, self.canal]
        below: list[Artist] = [self.hill, self.tail, self.average, self.here]
        return [*tooth, *self.ticks.values(), *below, *self.words.values()]

    def place(self, section: Section, lengths_mm: Floats) -> None:
        """Move everything to where it belongs: this tooth, among these."""
        z = np.linspace(0.0, section.length_mm, 160)
        widths = section.outline.widths(z, length_mm=section.length_mm)
        self.enamel.set_xy(both_sides(z, widths.enamel_md_mm))
        self.dentine.set_xy(both_sides(z, widths.dentine_md_mm))
        self.canal.set_xy(canal_outline(section))
        heights = _heights(section.marks_mm)
        for label, mm in section.marks_mm.items():
            self.ticks[label].set_data(
                [MIDDLE_MM - TICK_MM, MIDDLE_MM + TICK_MM, WORDS_MM - 0.3], [mm, mm, heights[label]]
            )
            self.words[label].set_position((WORDS_MM, heights[label]))
            self.words[label].set_text(f"{label} {told_mm(label, mm)}")
        counts = np.histogram(np.clip(lengths_mm, SHORTEST_MM, LONGEST_MM), BINS_MM)[0]
        self.hill.set_xy(_steps(counts))
        longest = BINS_MM[:-1] >= np.quantile(lengths_mm, 0.9) - BIN_MM / 2
        self.tail.set_xy(_steps(np.where(longest, counts, 0)))
        average = section.marks_mm["textbook average"]
        self.average.set_data([average, average], [0, 200])
        self.here.set_data([section.length_mm, section.length_mm], [0, 200])


@dataclass(frozen=True)
class LandmarksPicture:
    """The drawing, alive; ``live.widget`` shows it."""

    drawing: Drawing
    live: LiveFigure

    def show(self, section: Section, lengths_mm: Floats, sentence: str) -> None:
        """Draw this tooth among these lengths, with the sentence that says so."""
        self.drawing.place(section, lengths_mm)
        self.live.show(sentence)


def landmarks_picture(section: Section, lengths_mm: Floats, sentence: str) -> LandmarksPicture:
    """Draw a tooth among others of its kind, ready to be moved.

    Parameters
    ----------
    section
        The tooth at the start.
    lengths_mm
        Lengths of 1 000 of its kind, shape (1000,).
    sentence
        What the start state shows.
    """
    drawing = draw_landmarks(section, lengths_mm)
    return LandmarksPicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_landmarks(section: Section, lengths_mm: Floats) -> Drawing:
    """Draw the plain figure in its start state; arguments as in `landmarks_picture`."""
    with course_style():
        figure = Figure(figsize=(4.5, 7.2))
        tooth = figure.add_axes((0.13, 0.345, 0.86, 0.645))
        many = figure.add_axes((0.13, 0.085, 0.84, 0.165))
        _prepare_tooth(tooth)
        _prepare_many(many)
        enamel = _patch(tooth, fc=ENAMEL, lw=1.5)
        dentine = _patch(tooth, fc=DENTINE, lw=1.0)
        canal = _patch(tooth, fc=CANAL, lw=0.8)
        ticks = {label: _tick(tooth, label) for label in LABELS}
        words = {label: tooth.text(0, 0, "", va="center", color=_colour(label)) for label in LABELS}
        hill = _patch(many, fc="#d0d0d0", lw=1.0)
        tail = _patch(many, fc="none", lw=0.0, hatch="////")
        (average,) = many.plot([], [], color=AVERAGE.colour, ls=AVERAGE.dash, lw=2)
        (here,) = many.plot([], [], color=INK, lw=2.5)
        drawing = Drawing(figure, enamel, dentine, canal, ticks, words, hill, tail, average, here)
        drawing.place(section, lengths_mm)
    return drawing


def _prepare_tooth(axes: Axes) -> None:
    axes.set_xlim(0.0, 32.0)
    axes.set_ylim(LONGEST_MM, -0.8)
    axes.set_xticks([])
    axes.set_yticks(np.arange(0, LONGEST_MM, 5))
    axes.set_yticks(np.arange(0, LONGEST_MM, 1), minor=True)
    axes.set_ylabel("length from the reference point (mm)")
    axes.text(MIDDLE_MM - TICK_MM, LONGEST_MM - 0.4, "mesial", va="bottom", ha="left")
    axes.text(MIDDLE_MM + TICK_MM, LONGEST_MM - 0.4, "distal", va="bottom", ha="right")
    axes.set_aspect("equal", adjustable="box", anchor="W")


def _prepare_many(axes: Axes) -> None:
    axes.set_xlim(SHORTEST_MM, LONGEST_MM)
    axes.set_ylim(0, 170)
    axes.set_xticks(np.arange(SHORTEST_MM, LONGEST_MM + 1, 2))
    axes.set_yticks([0, 50, 100, 150])
    axes.set_xlabel("length of the tooth (mm)")
    axes.set_title(
        "Of 1 000 teeth. Dash-dot: average. Line: this\ntooth. Hatched: the longest tenth.",
        loc="left",
        fontsize=10,
    )


def _patch(axes: Axes, *, fc: str, lw: float, hatch: str | None = None) -> Polygon:
    patch = Polygon([(0, 0)], closed=True, fc=fc, ec=INK, lw=lw, hatch=hatch)
    axes.add_patch(patch)
    return patch


def _tick(axes: Axes, label: str) -> Line2D:
    dash = AVERAGE.dash if label == "textbook average" else "-"
    (line,) = axes.plot([], [], color=_colour(label), lw=1.4, ls=dash)
    return line


def _colour(label: str) -> str:
    return AVERAGE.colour if label == "textbook average" else INK


def both_sides(z: Floats, half: Floats) -> Floats:
    """The outline of something that lies this far to both sides of the tooth's axis."""
    left = np.stack([MIDDLE_MM - half, z], axis=1)
    right = np.stack([MIDDLE_MM + half, z], axis=1)
    return np.concatenate([left, right[::-1]])


def canal_outline(section: Section) -> Floats:
    """The outline of the canal: tapering to the constriction, then to the side where it opens."""
    cej = section.outline.cej_mm * section.length_mm / section.outline.length_mm
    end, narrow = section.foramen_mm, section.constriction_mm
    places = [0.45 * cej, cej, end - 5, end - 2, narrow, end]
    z = np.unique(np.concatenate([np.linspace(places[0], end, 60), places]))
    half = np.interp(z, places, [0.05, *section.canal_mm]) / 2
    root = section.length_mm - cej
    side, _ = section.outline.root_half_widths(section.length_mm - end, root)
    bend = np.clip((z - end + TURN_MM) / TURN_MM, 0.0, 1.0) ** 2 * float(side)
    left = np.stack([MIDDLE_MM + bend - half, z], axis=1)
    right = np.stack([MIDDLE_MM + bend + half, z], axis=1)
    return np.concatenate([left, right[::-1]])


def _steps(counts: npt.NDArray[np.int_]) -> Floats:
    x = np.repeat(BINS_MM, 2)
    y = np.concatenate([[0], np.repeat(counts, 2), [0]])
    return np.stack([x, y], axis=1)


def told_mm(label: str, mm: float) -> str:
    """A mark's place (mm): to a tenth, a working length with the quarters of its target.

    >>> told_mm("foramen", 30.48), told_mm("working length", 30.25), told_mm("working length", 30.0)
    ('30.5', '30.25', '30.0')
    """
    quarters = label == "working length" and round(100 * mm) % 10
    return f"{mm:.2f}" if quarters else f"{mm:.1f}"


def _heights(marks_mm: Mapping[str, float]) -> dict[str, float]:
    """Where the words stand: beside their tick, moved apart so that they can be read."""
    order = sorted(marks_mm, key=lambda label: (marks_mm[label], LABELS.index(label)))
    heights: list[float] = []
    for label in order:
        lowest = heights[-1] + WORDS_APART_MM if heights else 0.0
        heights.append(max(marks_mm[label] - 1.0, lowest))
    below = max(0.0, heights[-1] - (LONGEST_MM - 0.8))
    for i in reversed(range(len(heights))):
        limit = heights[i + 1] - WORDS_APART_MM if i + 1 < len(heights) else heights[i] - below
        heights[i] = min(heights[i], limit)
    return dict(zip(order, heights, strict=True))
