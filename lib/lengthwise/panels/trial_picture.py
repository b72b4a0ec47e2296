"""The picture of lesson 04: the last three millimetres of a canal, a point in it, and its mark.

Everything is drawn to one scale, twenty to one, on one ruler: above, the canal in long section
with the point in it; below it the same point taken out, its mark split into what lay beyond the
liquid's surface and what crept; under that, where the foramen would be by this mark.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text

from lengthwise.anatomy.canals import Canal
from lengthwise.bench.canal_space import HEIGHTS_MM, space_of
from lengthwise.bench.canal_state import as_canals
from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style, cue_for
from lengthwise.panels.trial_case import Meeting, allowance_mm
from lengthwise.panels.trial_words import mark_of

Floats = npt.NDArray[np.float64]

TIMES = 20
WIDTH_IN, MARGIN_IN, RULER_IN = 4.5, 0.08, 0.62
SHORT_MM = 3.3
"""How much of the canal is shown short of the foramen."""

ROOT_MM = 0.95
AFTER_MM = -1.92
"""Across the picture: how far the root reaches from the axis, and where the point lies after."""

ROWS_MM = {"overshoot": -2.3, "wicked": -2.9, "as it is": -3.5, "corrected": -4.1}
WORDS_BELOW_MM = 0.27
SURFACE_WORDS_MM = -1.16
TOP_MM, BOTTOM_MM = 1.35, -4.6
BEHIND = {"fc": "#ffffff", "ec": "none", "pad": 1.0}
"""Words stand on white: the line of the foramen must not run through them."""

LETTER_HALF_MM = 0.068
"""Half the width of a letter, a little generous."""

DENTINE, TISSUE, DRY_PAPER = "#ead9b0", "#f0dcd7", "#ffffff"
FILLS = {"tissue": (TISSUE, ""), "blood": ("#c39a89", "xx"), "water": ("#cec6f9", "----")}
PAPER = cue_for("point_trial").colour


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves."""

    figure: Figure
    canal: Canal
    ends_mm: tuple[float, float]
    liquid: Polygon
    point: Polygon
    after: Polygon
    wet: dict[float, tuple[Polygon, Polygon, Polygon]]
    surface: Line2D
    lines: dict[str, Line2D]
    words: dict[str, Text]

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        paper = [self.liquid, self.point, self.after, *self.wet[0.0], *self.wet[AFTER_MM]]
        return [*paper, self.surface, *self.lines.values(), *self.words.values()]

    def place(self, met: Meeting) -> None:
        """Move everything to where it belongs for this point."""
        left, surface = self.ends_mm[0], met.surface_mm
        near, far = (surface - wicked for wicked in met.wicked_mm)
        self.liquid.set_xy(_liquid(self.canal, surface))
        fill, hatch = FILLS[met.liquid]
        self.liquid.set_facecolor(fill)
        self.liquid.set_hatch(hatch)
        self.point.set_xy(_cone(met, left, met.tip_mm, 0.0))
        # Taken out, the point lies where it was set to, so that its mark is read on the ruler.
        off = met.point.length_mm - met.tip_mm
        self.after.set_xy(_cone(met, left - off, met.tip_mm, AFTER_MM, off))
        ends = ((surface, met.tip_mm), (near, surface), (far, near))
        for height, parts in self.wet.items():
            for part, (low, high) in zip(parts, ends, strict=True):
                part.set_visible(met.wet)
                part.set_xy(_cone(met, low, high, height))
        self.surface.set_data([surface, surface], [0.6, -1.0])
        self._say(met)

    def _say(self, met: Meeting) -> None:
        surface, tip = met.surface_mm, met.tip_mm
        low, high = (surface - wicked for wicked in reversed(met.wicked_mm))
        self._put("surface", surface, f"meets {met.liquid} at {surface:.1f} mm")
        if not met.wet:
            said = f"binds at {tip:.1f} mm, dry" if met.binds else "dry"
            for row in ROWS_MM:
                self._row(row, None, said if row == "overshoot" else "")
            return
        mark = mark_of(met)
        self._row("overshoot", (surface, tip), f"overshoot {met.overshoot_mm:.1f} mm")
        self._row("wicked", (low, surface), f"wicked {mark.wicked}")
        ends = (low + tip - met.point.length_mm, high + tip - met.point.length_mm)
        self._row("as it is", ends, f"the mark as it is: {mark.foramen}")
        if met.liquid != "tissue":
            self._row("corrected", None, "not dry: no length")
            return
        allowed, half = allowance_mm(met.point.contact_s)
        middle = sum(ends) / 2 + allowed
        said = f"less what wicks: {mark.corrected}"
        self._row("corrected", (middle - half, middle + half), said)

    def _row(self, row: str, ends: tuple[float, float] | None, said: str) -> None:
        height = ROWS_MM[row]
        xs = [] if ends is None else list(ends)
        self.lines[row].set_data(xs, [height] * len(xs))
        centre = sum(self.ends_mm) / 2 if ends is None else sum(ends) / 2
        self._put(row, centre, said)

    def _put(self, name: str, x_mm: float, said: str) -> None:
        """Words centred at a length, moved in where they would leave the picture."""
        words, (left, right) = self.words[name], self.ends_mm
        half = LETTER_HALF_MM * len(said)
        # On whole tenths, so that the same words at the same place are drawn once.
        held = round(max(min(x_mm, right - half), left + half), 1)
        words.set_x(held)
        words.set_text(said)


@dataclass(frozen=True)
class TrialPicture:
    """The drawing, alive; ``live.widget`` shows it."""

    drawing: Drawing
    live: LiveFigure

    def show(self, met: Meeting, sentence: str) -> None:
        """Draw this point, with the sentence that says so."""
        self.drawing.place(met)
        self.live.show(sentence)


def trial_picture(canal: Canal, met: Meeting, sentence: str) -> TrialPicture:
    """Draw the end of a canal and a point in it, ready to be moved.

    Parameters
    ----------
    canal
        Its walls and its foramen, as they are after preparation.
    met
        What the point meets at the start.
    sentence
        What the start state shows.
    """
    drawing = draw_trial(canal, met)
    return TrialPicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_trial(canal: Canal, met: Meeting) -> Drawing:
    """Draw the plain figure in its start state; arguments as in `trial_picture`."""
    height_in = (TOP_MM - BOTTOM_MM) * TIMES / 25.4 + RULER_IN + MARGIN_IN
    with course_style():
        figure = Figure(figsize=(WIDTH_IN, height_in))
        axes = figure.add_axes(
            (
                MARGIN_IN / WIDTH_IN,
                RULER_IN / height_in,
                1 - 2 * MARGIN_IN / WIDTH_IN,
                1 - (RULER_IN + MARGIN_IN) / height_in,
            )
        )
        left = canal.foramen_mm - SHORT_MM
        right = left + (WIDTH_IN - 2 * MARGIN_IN) * 25.4 / TIMES
        _prepare(axes, canal, left, right)
        lines = {row: axes.plot([], [], color=INK, lw=2, marker="|", ms=9)[0] for row in ROWS_MM}
        heights = {row: height - WORDS_BELOW_MM for row, height in ROWS_MM.items()}
        words = {
            name: axes.text(0, height, "", ha="center", va="center", bbox=BEHIND)
            for name, height in {**heights, "surface": SURFACE_WORDS_MM}.items()
        }
        drawing = Drawing(
            figure,
            canal,
            (left, right),
            _patch(axes, TISSUE),
            _patch(axes, DRY_PAPER, lw=1.2),
            _patch(axes, DRY_PAPER, lw=1.2),
            {height: _wet(axes) for height in (0.0, AFTER_MM)},
            axes.plot([], [], color=INK, lw=1.4, ls=(0, (2, 1)))[0],
            lines,
            words,
        )
        drawing.place(met)
    return drawing


def _prepare(axes: Axes, canal: Canal, left: float, right: float) -> None:
    """All that stands still: root, canal, tissue, foramen, ruler."""
    axes.set_xlim(left, right)
    axes.set_ylim(BOTTOM_MM, TOP_MM)
    axes.set_aspect("equal")
    axes.set_yticks([])
    axes.set_xticks(np.arange(np.ceil(left), right, 1.0))
    axes.set_xticks(np.arange(np.ceil(left * 10), right * 10) / 10, minor=True)
    axes.set_xlabel("length from the cusp tip (mm)")
    foramen, slope = canal.foramen_mm, _slope(canal)
    side = np.array([ROOT_MM, -ROOT_MM])
    outside = foramen - side * slope
    tissue = [(outside[0], side[0]), (right, side[0]), (right, side[1]), (outside[1], side[1])]
    axes.add_patch(Polygon(tissue, closed=True, fc=TISSUE, ec="none"))
    root = [(left - 1, side[0]), (outside[0], side[0]), (outside[1], side[1]), (left - 1, side[1])]
    axes.add_patch(Polygon(root, closed=True, fc=DENTINE, ec=INK, lw=1.2))
    axes.add_patch(Polygon(_liquid(canal, left - 1), closed=True, fc="#ffffff", ec=INK, lw=1.2))
    axes.plot([foramen, foramen], [1.0, BOTTOM_MM], color=INK, lw=1, ls=(0, (6, 3)), zorder=0.5)
    axes.text(foramen, 1.17, f"foramen {foramen:.1f} mm", ha="center", va="center")
    axes.text(left + 0.1, 0.7, "root", va="center")
    axes.text(right - 0.1, 0.7, "tissue", va="center", ha="right")
    axes.text(left + 0.1, -1.42, "taken out:", va="center")


def _liquid(canal: Canal, from_mm: float) -> Floats:
    """The room of the canal between a length and the slanted plane of the foramen."""
    foramen, slope = canal.foramen_mm, _slope(canal)
    space = space_of(as_canals(canal))
    rim = canal.foramen_diameter_mm / 2
    heights = HEIGHTS_MM[HEIGHTS_MM < SHORT_MM + 1.0]
    walls, half = foramen - heights[::-1], space.diameter_mm[0, : len(heights)][::-1] / 2

    def wall(end: float) -> tuple[Floats, Floats]:
        x = np.unique(np.concatenate([[min(from_mm, end)], walls[walls > from_mm], [end]]))
        x = x[x <= end]
        return x, np.interp(x, walls, half)

    (up, up_half), (down, down_half) = wall(foramen - rim * slope), wall(foramen + rim * slope)
    upper = np.stack([up, up_half], axis=1)
    return np.concatenate([upper, np.stack([down, -down_half], axis=1)[::-1]])


def _slope(canal: Canal) -> float:
    return float(np.tan(np.radians(canal.foramen_angle_deg)))


def _cone(met: Meeting, from_mm: float, to_mm: float, y: float, off: float = 0.0) -> Floats:
    """The part of the point between two lengths, as thick as it is there."""
    x = np.array([from_mm, to_mm])
    half = met.point.size / 200 + met.point.taper / 2 * (met.tip_mm - x)
    upper = np.stack([x + off, y + half], axis=1)
    return np.concatenate([upper, np.stack([x + off, y - half], axis=1)[::-1]])


def _wet(axes: Axes) -> tuple[Polygon, Polygon, Polygon]:
    """Overshoot, wicked by either law, wicked by one of them only."""
    return (
        _patch(axes, _pale(PAPER, 0.75), hatch="///"),
        _patch(axes, _pale(PAPER, 0.45), hatch="..."),
        _patch(axes, _pale(PAPER, 0.2), hatch=".", dash=True),
    )


def _patch(
    axes: Axes, colour: str, *, lw: float = 0.8, hatch: str = "", dash: bool = False
) -> Polygon:
    style = (0, (2, 1)) if dash else "-"
    patch = Polygon([(0, 0)], closed=True, fc=colour, ec=INK, lw=lw, hatch=hatch, ls=style)
    axes.add_patch(patch)
    return patch


def _pale(colour: str, share: float) -> str:
    """A colour mixed with white."""
    levels = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(255 - (255 - level) * share):02x}" for level in levels)
