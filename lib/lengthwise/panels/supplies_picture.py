"""The picture of lesson 07: instruments and points laid against the canal at true length.

Every length is to one scale. All tips stand at the working length; what stays outside the
reference point, to be held, is hatched, and what is missing is an empty dotted frame.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon, Rectangle
from matplotlib.text import Text

from lengthwise.panels.landmarks_picture import (
    CANAL,
    DENTINE,
    ENAMEL,
    Section,
    both_sides,
    canal_outline,
)
from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style
from lengthwise.reconciliation.supplies import Reach, SuppliesPlan, Verdict
from lengthwise.reference.supplies import Kind

Floats = npt.NDArray[np.float64]

HIGHEST_MM, DEEPEST_MM, WIDE_MM = -15.0, 35.5, 52.0
FIRST_MM, APART_MM, BETWEEN_KINDS_MM = 15.8, 4.4, 2.6
"""Across the picture: the first thing laid down, the next of its kind, the next kind."""

BODY_MM, HELD_MM, HANDLE_MM = 1.1, 2.6, 3.2
COLOUR: dict[Kind, str] = {
    "file": "#5b6670", "gutta-percha point": "#d08770", "absorbent point": "#f3efdf",
}  # fmt: skip
WORDS: dict[Kind, str] = {
    "file": "files", "gutta-percha point": "gutta-\npercha", "absorbent point": "paper",
}  # fmt: skip
SIGNS: dict[Verdict, str] = {
    "reaches": "✓", "measure it": "?", "too short to hold": "✗", "does not reach": "✗",
}  # fmt: skip


@dataclass(frozen=True)
class Scene:
    """A tooth and what is laid against it.

    Attributes
    ----------
    section : the tooth, with its lengths from the reference point before anything was taken off.
    reduced_mm : what was taken off the reference point.
    plan : instruments and points against the working length from the reference point in use.
    """

    section: Section
    reduced_mm: float
    plan: SuppliesPlan


@dataclass(frozen=True)
class Laid:
    """What is drawn for one instrument or point."""

    middle_mm: float
    body: Rectangle
    handle: Rectangle
    outside: Rectangle
    missing: Rectangle
    needed: Line2D
    sign: Text

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes but the words, in drawing order."""
        return [self.handle, self.body, self.outside, self.missing, self.needed]

    def place(self, reach: Reach, working_length_mm: float) -> None:
        """Put its tip to the working length."""
        top = working_length_mm - reach.supply.length_mm
        _span(self.body, top, working_length_mm)
        _span(self.handle, top - 30.0, top if reach.supply.kind == "file" else top - 30.0)
        _span(self.outside, min(top, 0.0), 0.0)
        _span(self.missing, 0.0, max(top, 0.0))
        half = HELD_MM / 2 + 0.6
        self.needed.set_data(
            [self.middle_mm - half, self.middle_mm + half], [-reach.needed_mm, -reach.needed_mm]
        )
        self.sign.set_text(SIGNS[reach.verdict])


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves."""

    figure: Figure
    enamel: Polygon
    dentine: Polygon
    canal: Polygon
    length: Line2D
    length_said: Text
    laid: tuple[Laid, ...]

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        things = [artist for laid in self.laid for artist in laid.moving]
        signs = [laid.sign for laid in self.laid]
        tooth = [self.enamel, self.dentine, self.canal, self.length]
        return [*tooth, *things, self.length_said, *signs]

    def place(self, scene: Scene) -> None:
        """Move everything to where it belongs."""
        section, off = scene.section, scene.reduced_mm
        z = np.linspace(off, section.length_mm, 160)
        widths = section.outline.widths(z, length_mm=section.length_mm)
        self.enamel.set_xy(both_sides(z - off, widths.enamel_md_mm))
        self.dentine.set_xy(both_sides(z - off, widths.dentine_md_mm))
        self.canal.set_xy(canal_outline(section) - [0.0, off])
        length = scene.plan.working_length_mm
        self.length.set_ydata([length, length])
        self.length_said.set_position((WIDE_MM - 0.3, length + 0.3))
        self.length_said.set_text(f"working length {length:.1f}")
        for laid, reach in zip(self.laid, scene.plan.reaches, strict=True):
            laid.place(reach, length)


@dataclass(frozen=True)
class SuppliesPicture:
    """The drawing, alive; ``live.widget`` shows it."""

    drawing: Drawing
    live: LiveFigure

    def show(self, scene: Scene, sentence: str) -> None:
        """Draw this scene, with the sentence that says what it shows."""
        self.drawing.place(scene)
        self.live.show(sentence)


def supplies_picture(scene: Scene, sentence: str) -> SuppliesPicture:
    """Draw a tooth with everything at hand beside it, ready to be moved.

    The same instruments and points must come in every later scene, in the same order.
    """
    drawing = draw_supplies(scene)
    return SuppliesPicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_supplies(scene: Scene) -> Drawing:
    """Draw the plain figure in its start state."""
    with course_style():
        figure = Figure(figsize=(4.5, 4.95))
        axes = figure.add_axes((0.155, 0.24, 0.84, 0.755))
        _prepare(axes)
        enamel, dentine, canal = (_patch(axes, fc) for fc in (ENAMEL, DENTINE, CANAL))
        length = axes.axhline(0.0, color=INK, lw=1.6, ls=(0, (5, 2)))
        said = axes.text(0, 0, "", ha="right", va="top")
        places = _places([reach.supply.kind for reach in scene.plan.reaches])
        laid = tuple(
            _laid(axes, reach, middle)
            for reach, middle in zip(scene.plan.reaches, places, strict=True)
        )
        _name_kinds(axes, scene.plan.reaches, places)
        figure.text(0.5, 0.01, "hatched: left to hold; dashes: needed", ha="center", va="bottom")
        drawing = Drawing(figure, enamel, dentine, canal, length, said, laid)
        drawing.place(scene)
    return drawing


def _prepare(axes: Axes) -> None:
    axes.set_xlim(0.0, WIDE_MM)
    axes.set_ylim(DEEPEST_MM, HIGHEST_MM)
    axes.set_aspect("equal", adjustable="box", anchor="NW")
    axes.set_xticks([])
    axes.spines["bottom"].set_visible(False)
    axes.set_yticks(np.arange(-10, DEEPEST_MM, 10))
    axes.set_yticks(np.arange(-15, DEEPEST_MM, 1), minor=True)
    axes.set_ylabel("from the reference (mm)", labelpad=2)
    axes.axhline(0.0, color=INK, lw=1.6)
    axes.text(0.2, -0.5, "reference\npoint", va="bottom", ha="left")


def _places(kinds: Sequence[Kind]) -> list[float]:
    places = [FIRST_MM]
    for before, kind in itertools.pairwise(kinds):
        places.append(places[-1] + APART_MM + (BETWEEN_KINDS_MM if kind != before else 0.0))
    return places


def _laid(axes: Axes, reach: Reach, middle: float) -> Laid:
    kind = reach.supply.kind
    axes.text(middle, DEEPEST_MM + 3.0, f"{reach.supply.length_mm:g}", ha="center", va="top")
    (needed,) = axes.plot([], [], color=INK, lw=1.6, ls=(0, (2, 1)))
    return Laid(
        middle_mm=middle,
        body=_bar(axes, middle, BODY_MM, fc=COLOUR[kind]),
        handle=_bar(axes, middle, HANDLE_MM, fc="#c9c9c9"),
        outside=_bar(axes, middle, HELD_MM, fc="none", hatch="/////", lw=0.8),
        missing=_bar(axes, middle, HELD_MM, fc="white", ls=":", lw=1.2),
        needed=needed,
        sign=axes.text(middle, DEEPEST_MM + 0.2, "", ha="center", va="top", weight="bold"),
    )


def _name_kinds(axes: Axes, reaches: Sequence[Reach], places: Sequence[float]) -> None:
    for kind in dict.fromkeys(reach.supply.kind for reach in reaches):
        mine = [x for x, reach in zip(places, reaches, strict=True) if reach.supply.kind == kind]
        axes.text(float(np.mean(mine)), DEEPEST_MM + 6.0, WORDS[kind], ha="center", va="top")


def _patch(axes: Axes, fc: str) -> Polygon:
    patch = Polygon([(0, 0)], closed=True, fc=fc, ec=INK, lw=1.0)
    axes.add_patch(patch)
    return patch


def _bar(axes: Axes, middle: float, wide: float, *, fc: str, hatch: str | None = None,
         lw: float = 0.8, ls: str = "-") -> Rectangle:  # fmt: skip
    bar = Rectangle((middle - wide / 2, 0), wide, 0, fc=fc, ec=INK, lw=lw, ls=ls, hatch=hatch)
    axes.add_patch(bar)
    return bar


def _span(bar: Rectangle, top_mm: float, end_mm: float) -> None:
    bar.set_y(top_mm)
    bar.set_height(end_mm - top_mm)
    bar.set_visible(end_mm > top_mm)
