"""The picture of lesson 05: a time line of what was done to a canal and what was seen.

From the top: what the points said of the length, the liquid that stands in the canal, the bleeding,
and the actions as ticks. The liquid's level and the foramen are drawn only when they may be seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text

from lengthwise.bench.canal_state import BLEEDINGS, Bleeding
from lengthwise.evidence import PointTrial
from lengthwise.panels.dry_canals import Line, end_mm, standing_mm, tells_end
from lengthwise.panels.dry_words import tick_of
from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style, cue_for
from lengthwise.panels.step_axes import no_line, prepare_steps

Floats = npt.NDArray[np.float64]

SHOWN = 12
"""So many actions fit beside each other; earlier ones leave the picture on the left."""

SHORTEST_MM, LONGEST_MM = 18.0, 26.5
HIGHEST_MM = 4.2
"""The top of the drawing of the liquid; a canal full of liquid is cut off there."""

HIDDEN = "nobody sees this:\nshown when you have judged"
NOTHING_YET = "Choose what to do, press Do it:\nit appears here."
POINT, SIGNAL = cue_for("point_trial"), cue_for("electronic_reading")
BLOOD = "#701f00"
HATCHES = {"none": "", "oozing": "//", "brisk": "xxx"}


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves."""

    figure: Figure
    ticks: tuple[Text, ...]
    wet_parts: Line2D
    marks: Line2D
    dry: Line2D
    no_length: Line2D
    signal: Line2D
    foramen: Line2D
    foramen_word: Text
    nothing_yet: Text
    liquid: PolyCollection
    surface: Line2D
    hidden: Text
    bleeding: dict[Bleeding, PolyCollection]

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        below: list[Artist] = [self.liquid, self.surface, self.hidden, *self.bleeding.values()]
        lengths: list[Artist] = [self.signal, self.foramen, self.wet_parts, self.dry, self.marks]
        words = [self.foramen_word, self.nothing_yet, *self.ticks]
        return [*below, *lengths, self.no_length, *words]

    def place(self, line: Line) -> None:
        """Draw the last actions of a line."""
        first = max(len(line.entries) - SHOWN, 0)
        states = line.states[first:]
        entries = line.entries[first:]
        words = [tick_of(line.entries[first - 1]) if first else "start", *map(tick_of, entries)]
        for place, tick in enumerate(self.ticks):
            tick.set_text(words[place] if place < len(words) else "")
        tried = [(at, e.outcome.trial) for at, e in enumerate(entries, start=1) if e.outcome.trial]
        self._place_lengths(line, tried)
        self._place_liquid(line.opened, np.array([standing_mm(state) for state in states]))
        for word, band in self.bleeding.items():
            row = BLEEDINGS.index(word)
            cells = [at for at, state in enumerate(states) if state.bleeding == word]
            band.set_verts([_cell(at, row) for at in cells])

    def _place_lengths(self, line: Line, tried: list[tuple[int, PointTrial]]) -> None:
        wet = [(at, t) for at, t in tried if tells_end(t)]
        ends = [end_mm(t) for _, t in wet]
        self.marks.set_data([at for at, _ in wet], np.clip(ends, SHORTEST_MM, None))
        bars = [(at, end, t.length_mm) for (at, t), end in zip(wet, ends, strict=True)]
        self.wet_parts.set_data(
            [x for at, *_ in bars for x in (at, at, np.nan)],
            [y for _, end, tip in bars for y in (max(end, SHORTEST_MM), tip, np.nan)],
        )
        for artist, sites in ((self.dry, ("none",)), (self.no_length, ("side", "whole"))):
            some = [(at, t.length_mm) for at, t in tried if t.mark_site in sites]
            artist.set_data([at for at, _ in some], [mm for _, mm in some])
        self.signal.set_data([-1, SHOWN + 1], [line.case.signal_mm] * 2)
        foramen = line.case.state.canal.foramen_mm
        self.foramen.set_data([-1, SHOWN + 1] if line.opened else [], [foramen] * 2 * line.opened)
        self.foramen_word.set_text(f"thick line: foramen, {foramen:.1f} mm" if line.opened else "")
        self.nothing_yet.set_text("" if line.entries else NOTHING_YET)

    def _place_liquid(self, opened: bool, levels_mm: Floats) -> None:
        self.hidden.set_text("" if opened else HIDDEN)
        at = np.arange(len(levels_mm)) if opened else np.array([])
        heights = np.minimum(levels_mm, HIGHEST_MM)[: len(at)]
        self.surface.set_data(at, heights)
        ground = [(0.0, 0.0), *zip(at, heights, strict=True), (max(len(at) - 1, 0), 0.0)]
        self.liquid.set_verts([ground])


@dataclass(frozen=True)
class DryPicture:
    """The drawing, alive; ``live.widget`` shows it."""

    drawing: Drawing
    live: LiveFigure

    def show(self, line: Line, sentence: str) -> None:
        """Draw this line, with the sentence that says so."""
        self.drawing.place(line)
        self.live.show(sentence)


def dry_picture(line: Line, sentence: str) -> DryPicture:
    """Draw a time line, ready to grow.

    Parameters
    ----------
    line
        What was done so far.
    sentence
        What the picture shows at the start.
    """
    drawing = draw_dry(line)
    return DryPicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_dry(line: Line) -> Drawing:
    """Draw the plain figure of a line."""
    with course_style():
        figure = Figure(figsize=(4.5, 7.4))
        lengths = figure.add_axes((0.17, 0.525, 0.82, 0.375))
        liquid = figure.add_axes((0.17, 0.345, 0.82, 0.12))
        bleeding = figure.add_axes((0.17, 0.20, 0.82, 0.09))
        for axes in (lengths, liquid, bleeding):
            prepare_steps(axes, SHOWN)
        _prepare_lengths(lengths)
        liquid.set_ylim(0, HIGHEST_MM)
        liquid.set_yticks([0, 2, 4])
        liquid.set_title("liquid above the foramen (mm; 4: or more)", loc="left", fontsize=11)
        bleeding.set_title("bleeding", loc="left", fontsize=11)
        bleeding.set_ylim(-0.5, 2.5)
        bleeding.set_yticks(range(3), BLEEDINGS)
        bleeding.tick_params(axis="y", length=0)
        drawing = Drawing(
            figure=figure,
            ticks=tuple(
                bleeding.text(at, -0.8, "", rotation=90, ha="center", va="top", clip_on=False)
                for at in range(SHOWN + 1)
            ),
            wet_parts=no_line(lengths, color=POINT.colour, lw=5, alpha=0.45, solid_capstyle="butt"),
            marks=no_line(lengths, color=POINT.colour, marker="^", ls="", ms=9),
            dry=no_line(lengths, color=POINT.colour, marker="v", ls="", ms=9, mfc="white", mew=2),
            no_length=no_line(lengths, color=INK, marker="x", ls="", ms=9, mew=2.5),
            signal=no_line(lengths, color=SIGNAL.colour, ls=(0, (6, 3)), lw=1.6),
            foramen=no_line(lengths, color=INK, lw=2.5),
            foramen_word=lengths.text(SHOWN + 0.5, LONGEST_MM - 0.1, "", ha="right", va="bottom"),
            nothing_yet=lengths.text(SHOWN / 2, 21.0, NOTHING_YET, ha="center", va="center"),
            liquid=_cells(liquid, fc="#d0d0d0", lw=0),
            surface=no_line(liquid, color=INK, lw=2),
            hidden=liquid.text(SHOWN / 2, HIGHEST_MM / 2, HIDDEN, ha="center", va="center"),
            bleeding={
                word: _cells(bleeding, fc="white", ec=BLOOD, lw=1.0, hatch=HATCHES[word])
                for word in BLEEDINGS
            },
        )
        drawing.place(line)
    return drawing


def _prepare_lengths(axes: Axes) -> None:
    axes.set_ylim(LONGEST_MM, SHORTEST_MM)
    axes.set_yticks(np.arange(SHORTEST_MM, LONGEST_MM, 1))
    axes.set_ylabel("length from the reference (mm)")
    axes.set_title(
        "▲ where a mark ends; bar: the wet part\n▽ dry point: the end is at least there\n"
        "✕ tells no length      – – foramen signal",
        loc="left",
        fontsize=11,
    )


def _cells(axes: Axes, **look: Any) -> PolyCollection:
    cells = PolyCollection([], **look)
    axes.add_collection(cells)
    return cells


def _cell(at: int, row: int) -> list[tuple[float, float]]:
    """One moment of the bleeding, as corners."""
    left, right, low, high = at - 0.5, at + 0.5, row - 0.4, row + 0.4
    return [(left, low), (right, low), (right, high), (left, high)]
