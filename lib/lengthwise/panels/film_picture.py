"""The picture of lesson 02: a radiograph with a ruler, how it was taken, and what it cannot show.

Above, the radiograph, and beside it source, tooth and receptor from the side and from above.
Below, on request, the same tooth from its mesial side, which no radiograph in the mouth shows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backend_bases import RendererBase
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon
from matplotlib.text import Text
from PIL import Image

from lengthwise.anatomy.canals import Canal
from lengthwise.anatomy.teeth import Outline
from lengthwise.bench.film_parts import canal_solid, file_solid, tooth_solids
from lengthwise.bench.film_setup import Setup
from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style, cue_for
from lengthwise.physics.projection import in_room, project
from lengthwise.physics.solids import Solid

Floats = npt.NDArray[Any]

HEIGHT_IN = 6.1
SKETCH_MM = 42.0
NEVER = "Never seen in the clinic. Choose “shown” to look."
TOOTH_FILL = "#d0d0d0"


@dataclass(frozen=True)
class Scene:
    """Everything that one position of the controls comes to, as it is to be drawn."""

    image: Floats
    setup: Setup
    file_mm: float
    shown: bool


class Pixels(Artist):
    """A grey picture that fills its axes: enlarged by Pillow and put down in one piece.

    Matplotlib's own image takes ten times as long, which a slider would feel.
    """

    def __init__(self, axes: Axes) -> None:
        super().__init__()
        self._box = axes.bbox
        self._rgba = np.zeros((1, 1, 4), np.uint8)

    def set_grey(self, grey: Floats) -> None:
        """Take over a picture of numbers from 0 (black) to 1 (white), its first row lowest."""
        size = round(self._box.width), round(self._box.height)
        whole = Image.fromarray((grey * 255).astype(np.uint8)).resize(
            size, Image.Resampling.BILINEAR
        )
        self._rgba = np.array(whole.convert("RGBA"))

    def draw(self, renderer: RendererBase) -> None:
        """Put the picture down, as Matplotlib asks every artist to."""
        renderer.draw_image(renderer.new_gc(), self._box.x0, self._box.y0, self._rgba)


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves, in drawing order."""

    figure: Figure
    canal: Canal
    outline: Outline
    picture: Pixels
    side_tooth: Polygon
    side_beam: Line2D
    above_beam: Line2D
    above_tooth: Polygon
    tooth: Polygon
    pulp: Polygon
    file: Polygon
    foramen: Line2D
    never: Text

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes with a control."""
        below = [self.tooth, self.pulp, self.file, self.foramen, self.never]
        sketches = [self.side_beam, self.side_tooth, self.above_beam, self.above_tooth]
        return [self.picture, *sketches, *below]

    def place(self, scene: Scene) -> None:
        """Move everything to where it belongs now."""
        self.picture.set_grey(scene.image)
        _place_sketches(self, scene.setup)
        self.never.set_text("" if scene.shown else NEVER)
        for patch in (self.tooth, self.pulp, self.file, self.foramen):
            patch.set_visible(scene.shown)
        if scene.shown:
            self.file.set_xy(_profile(file_solid(self.canal, scene.file_mm, 15)))


@dataclass(frozen=True)
class FilmPicture:
    """The drawing, alive; ``live.widget`` shows it."""

    drawing: Drawing
    live: LiveFigure

    def show(self, scene: Scene, sentence: str) -> None:
        """Move everything to where it belongs now, and send the picture with its sentence."""
        self.drawing.place(scene)
        self.live.show(sentence)


def film_picture(canal: Canal, outline: Outline, scene: Scene, sentence: str) -> FilmPicture:
    """Draw the radiograph of an upper tooth and its surroundings once, ready to be moved."""
    drawing = draw_film(canal, outline, scene)
    return FilmPicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_film(canal: Canal, outline: Outline, scene: Scene) -> Drawing:
    """Draw everything as a plain figure, in its start state; arguments as in `film_picture`."""
    with course_style():
        figure = Figure(figsize=(4.5, HEIGHT_IN))
        picture = _radiograph(figure, scene)
        side = _sketch(figure, HEIGHT_IN - 1.9, "from the side,\nsource right")
        above = _sketch(figure, HEIGHT_IN - 3.9, "from above,\nsource on top")
        side.plot([0, 0], [-20.5, 20.5], color=INK, lw=4, solid_capstyle="butt")
        above.plot([-15.5, 15.5], [0, 0], color=INK, lw=4, solid_capstyle="butt")
        above.set_xlim(-SKETCH_MM / 2, SKETCH_MM / 2)
        above.set_ylim(-3, SKETCH_MM - 3)
        side.set_xlim(-3, SKETCH_MM - 3)
        side.set_ylim(-SKETCH_MM * 0.55, SKETCH_MM * 0.55)
        (side_beam,) = side.plot([], [], color=cue_for("preoperative_film").colour, lw=1.2)
        (above_beam,) = above.plot([], [], color=cue_for("preoperative_film").colour, lw=1.2)
        below = _proximal(figure, canal)
        drawing = Drawing(
            figure,
            canal,
            outline,
            picture,
            _patch(side, TOOTH_FILL),
            side_beam,
            above_beam,
            _patch(above, TOOTH_FILL),
            _patch(below, TOOTH_FILL, _profile(tooth_solids(canal, outline)[0])),
            _patch(below, "#ffffff", _profile(canal_solid(canal, opened=True))),
            _patch(below, INK),
            below.plot(
                [canal.foramen_mm], [canal.offset_buccal_mm], "^", ms=10, mec="#ffffff",
                color=cue_for("point_trial").colour, clip_on=False,
            )[0],
            below.text(canal.apex_mm / 2, 0.0, "", ha="center", va="center"),
        )  # fmt: skip
        drawing.place(scene)
    return drawing


def _radiograph(figure: Figure, scene: Scene) -> Pixels:
    receptor = scene.setup.receptor
    width = 2.55
    height = width * receptor.height_mm / receptor.width_mm
    axes = figure.add_axes(_box(0.4, HEIGHT_IN - 0.12 - height, width, height))
    # A ruler laid along the edge of the receptor would show these millimetres.
    axes.set_xlim(0.0, receptor.width_mm)
    axes.set_ylim(0.0, receptor.height_mm)
    picture = Pixels(axes)
    axes.add_artist(picture)
    axes.set_xticks(range(0, 31, 10))
    axes.set_yticks(range(0, 41, 10))
    axes.set_yticks(range(41), minor=True)
    axes.set_xticks(range(31), minor=True)
    axes.set_xlabel("ruler (mm)")
    return picture


def _sketch(figure: Figure, bottom: float, words: str) -> Axes:
    axes = figure.add_axes(_box(3.15, bottom, 1.3, 1.4))
    axes.set_axis_off()
    axes.set_aspect("equal")
    figure.text(3.8 / 4.5, (bottom + 1.42) / HEIGHT_IN, words, ha="center", va="bottom")
    return axes


def _proximal(figure: Figure, canal: Canal) -> Axes:
    axes = figure.add_axes(_box(0.15, 0.55, 4.2, 1.2))
    axes.set_xlim(-1.0, canal.apex_mm + 2.0)
    axes.set_ylim(-4.6, 4.6)
    axes.set_yticks([])
    axes.set_xticks(range(0, int(canal.apex_mm) + 2, 5))
    axes.set_xticks(range(int(canal.apex_mm) + 2), minor=True)
    axes.set_xlabel("from the incisal edge (mm)")
    for height, words in ((3.6, "lip"), (-3.6, "palate")):
        axes.text(-0.8, height, words, va="center")
    return axes


def _place_sketches(drawing: Drawing, setup: Setup) -> None:
    view, canal = setup.view, drawing.canal
    along = np.linspace(0.0, canal.apex_mm, 60)
    widths = drawing.outline.widths(along, length_mm=canal.apex_mm, cej_mm=canal.cej_mm)
    rim = in_room(
        view,
        np.concatenate([along, along[::-1]]),
        0.0,
        np.concatenate([widths.enamel_bl_mm, -widths.enamel_bl_mm[::-1]]),
    )
    drawing.side_tooth.set_xy(rim[:, [2, 1]])
    ends = in_room(view, [0.0, view.pivot_mm, canal.apex_mm], 0.0, 0.0)
    feet = project(view, ends)
    xs, ys = [], []
    for point, foot in zip(ends, feet, strict=True):
        reach = foot[1] + (point[1] - foot[1]) * SKETCH_MM / point[2]
        xs += [0.0, SKETCH_MM, np.nan]
        ys += [foot[1], reach, np.nan]
    drawing.side_beam.set_data(xs, ys)
    turn = np.linspace(0.0, 2 * np.pi, 40)
    half = drawing.outline
    drawing.above_tooth.set_xy(
        np.stack(
            [
                half.crown_md_mm / 2 * np.cos(turn),
                view.tooth_receptor_mm + half.crown_bl_mm / 2 * np.sin(turn),
            ],
            axis=1,
        )
    )
    slope = (ends[1, 0] - feet[1, 0]) / ends[1, 2]
    drawing.above_beam.set_data([feet[1, 0], feet[1, 0] + slope * SKETCH_MM], [0.0, SKETCH_MM])


def _profile(solid: Solid) -> Floats:
    """Outline of a solid from its mesial side: along the tooth, and buccal (mm)."""
    there = solid.half_buccal_mm > 0
    along, middle = solid.along_mm[there], solid.buccal_mm[there]
    half = solid.half_buccal_mm[there]
    near = np.stack([along, middle + half], axis=1)
    return np.concatenate([near, np.stack([along, middle - half], axis=1)[::-1]])


def _patch(axes: Axes, colour: str, points: Floats | None = None) -> Polygon:
    at = np.zeros((1, 2)) if points is None else points
    patch = Polygon(at, closed=True, facecolor=colour, edgecolor=INK, lw=1.0)
    axes.add_patch(patch)
    return patch


def _box(
    left: float, bottom: float, width: float, height: float
) -> tuple[float, float, float, float]:
    return left / 4.5, bottom / HEIGHT_IN, width / 4.5, height / HEIGHT_IN
