"""The picture of lesson 03: two teeth, the meter's curve in both, and two traces of one motion.

From top to bottom: both teeth to scale, lying, foramen under foramen, each with its file; the
quotient against the place of the tip, over the last millimetres, with a point that walks on each
curve; side by side the strip charts of the indicated value, and under each how the file moved.
Past the foramen the ground is hatched.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon, Rectangle
from matplotlib.text import Text
from matplotlib.transforms import blended_transform_factory

from lengthwise.anatomy.teeth import Outline, outline
from lengthwise.panels.landmarks_picture import CANAL, DENTINE, ENAMEL
from lengthwise.panels.live_figure import LiveFigure, live_figure
from lengthwise.panels.palette import INK, course_style, cue_for
from lengthwise.panels.reading_case import Reading
from lengthwise.panels.reading_setting import END_MM, FDI, START_MM
from lengthwise.physics.line import Floats

FIGURE_IN = (4.5, 8.8)
LEFT, WIDE = 0.135, 0.85
YOURS, OTHER = cue_for("electronic_reading"), (0, (4, 2))
GREY = "#5c5c5c"
BESIDE_MM = {"A": 4.7, "B": -4.7}
"""How far the axis of each tooth lies above or below the middle."""

CROWN_MM, TISSUE_MM = -34.6, 2.0
TURN_MM = 1.4
"""Over this last part a canal leaves the axis for the side on which it opens."""

FILE_MM = 16.0
"""A file tapers over this length, then it is a shaft."""

SHOWN_FROM_MM, SHOWN_TO_MM = START_MM, 0.7
LONG_S = 33.0
LEAST, MOST = -0.7, 3.3


@dataclass(frozen=True)
class Strip:
    """What moves of one trace: the tooth, the curve, the chart, the motion."""

    enamel: Polygon
    dentine: Polygon
    canal: Polygon
    file: Polygon
    name: Text
    curve: Line2D
    point: Line2D
    later: Line2D
    shown: Line2D
    now: Line2D
    motion: Line2D
    here: Line2D
    title: Text

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        return [self.enamel, self.dentine, self.canal, self.file, self.name, self.curve, self.point,
                self.later, self.shown, self.now, self.motion, self.here, self.title]  # fmt: skip


@dataclass(frozen=True)
class Drawing:
    """The figure with handles on everything in it that moves."""

    figure: Figure
    outline: Outline
    strips: Mapping[str, Strip]

    @property
    def moving(self) -> list[Artist]:
        """Everything that changes, in drawing order."""
        return [artist for strip in self.strips.values() for artist in strip.moving]

    def change(self, name: str, title: str, reading: Reading) -> None:
        """Put another canal, curve and trace into a strip."""
        strip, height = self.strips[name], BESIDE_MM[name]
        canal = reading.canal
        z = np.linspace(0.0, canal.apex_mm, 140)
        widths = self.outline.widths(z, length_mm=canal.apex_mm, cej_mm=canal.cej_mm)
        past, axis = z - canal.foramen_mm, np.full_like(z, height)
        strip.enamel.set_xy(_tube(past, axis, widths.enamel_md_mm))
        strip.dentine.set_xy(_tube(past, axis, widths.dentine_md_mm))
        up = np.linspace(-reading.shape.orifice_mm[0] - 0.5 * canal.cej_mm, 0.0, 90)
        wide = np.interp(-up, reading.shape.height_mm[0], reading.shape.radius_mm[0])
        strip.canal.set_xy(_tube(up, self._axis(reading, height, up), wide))
        strip.name.set_position((-canal.foramen_mm - 0.3, height + 2.2))
        strip.curve.set_data(reading.past_mm, reading.quotient)
        strip.later.set_data(reading.time_s, reading.indicated)
        strip.motion.set_data(reading.time_s, reading.tip_mm)
        strip.title.set_text(title)

    def place(self, name: str, reading: Reading, moment_s: float) -> None:
        """Put the file where it is at a moment, and everything that goes with it."""
        strip, height, at = self.strips[name], BESIDE_MM[name], reading.sample_at(moment_s)
        tip = float(reading.tip_mm[at])
        along = np.linspace(-reading.canal.foramen_mm - 1.5, tip, 60)
        half = reading.setting.size / 200 + np.minimum(tip - along, FILE_MM) * 0.01
        strip.file.set_xy(_tube(along, self._axis(reading, height, along), half))
        strip.point.set_data([tip], [np.interp(tip, reading.past_mm, reading.quotient)])
        until = slice(0, at + 1)
        strip.shown.set_data(reading.time_s[until], reading.indicated[until])
        strip.now.set_data([reading.time_s[at]] * 2, [LEAST, MOST])
        strip.here.set_data([reading.time_s[at]], [tip])

    def _axis(self, reading: Reading, height: float, past: Floats) -> Floats:
        """Where the canal's axis runs: on the tooth's, then to the side on which it opens."""
        canal = reading.canal
        root = canal.apex_mm - canal.cej_mm
        side, _ = self.outline.root_half_widths(canal.apex_mm - canal.foramen_mm, root)
        return np.asarray(height - np.clip(past / TURN_MM + 1.0, 0.0, 1.3) ** 2 * float(side))


@dataclass(frozen=True)
class ReadingPicture:
    """The live picture: change what is in a strip, put the files somewhere, show it."""

    drawing: Drawing
    live: LiveFigure


def reading_picture(
    readings: Mapping[str, tuple[str, Reading]], moment_s: float, signal: float, sentence: str
) -> ReadingPicture:
    """Draw two readings, ready to be moved.

    Parameters
    ----------
    readings
        ``"A"`` and ``"B"``: what stands over each trace, and the reading.
    moment_s
        Moment of the motion (s).
    signal
        Quotient at which the meter gives its foramen signal.
    sentence
        What the start state shows.
    """
    drawing = draw_readings(readings, moment_s, signal)
    return ReadingPicture(drawing, live_figure(drawing.figure, drawing.moving, sentence))


def draw_readings(
    readings: Mapping[str, tuple[str, Reading]], moment_s: float, signal: float
) -> Drawing:
    """Draw the plain figure in its start state; arguments as in `reading_picture`."""
    with course_style():
        figure = Figure(figsize=FIGURE_IN)
        teeth = figure.add_axes((0.01, 0.742, 0.98, 0.256))
        curve = figure.add_axes((LEFT, 0.505, WIDE, 0.19))
        _prepare_teeth(teeth)
        _prepare_curve(curve, signal)
        half = (WIDE - 0.05) / 2
        strips = {}
        for name, left in (("A", LEFT), ("B", LEFT + half + 0.05)):
            chart = figure.add_axes((left, 0.2, half, 0.17))
            motion = figure.add_axes((left, 0.062, half, 0.1))
            _prepare_chart(chart, motion, labelled=name == "A")
            strips[name] = _strip(name, teeth, curve, chart, motion)
        drawing = Drawing(figure, outline(FDI), strips)
        for name, (title, reading) in readings.items():
            drawing.change(name, title, reading)
            drawing.place(name, reading, moment_s)
    return drawing


def _strip(name: str, teeth: Axes, curve: Axes, chart: Axes, motion: Axes) -> Strip:
    yours = name == "B"
    colour, dash = (YOURS.colour, "-") if yours else (GREY, OTHER)
    marker = YOURS.marker if yours else "s"
    enamel, dentine, canal, file = (
        _patch(teeth, fill, lw)
        for fill, lw in ((ENAMEL, 1.2), (DENTINE, 1.0), (CANAL, 0.5), ("#e8e8e8", 0.8))
    )
    return Strip(
        enamel,
        dentine,
        canal,
        file,
        teeth.text(0, 0, name, ha="right", va="center", weight="bold"),
        curve.plot([], [], color=colour, ls=dash, lw=2)[0],
        curve.plot([], [], color=colour, marker=marker, ls="", ms=9, mec=INK)[0],
        chart.plot([], [], color="#b9b9b9", lw=1.2)[0],
        chart.plot([], [], color=colour, lw=1.8)[0],
        chart.plot([], [], color=INK, lw=1.0, ls=(0, (2, 2)))[0],
        motion.plot([], [], color=INK, lw=1.4)[0],
        motion.plot([], [], color=colour, marker=marker, ls="", ms=7, mec=INK)[0],
        chart.text(0.0, 1.04, "", transform=chart.transAxes, va="bottom", linespacing=1.1),
    )


def _prepare_teeth(axes: Axes) -> None:
    axes.set_xlim(CROWN_MM, TISSUE_MM)
    axes.set_aspect("equal", adjustable="box", anchor="C")
    axes.set_ylim(-10.2, 9.2)
    axes.set_yticks([])
    axes.spines["bottom"].set_visible(False)
    axes.set_xticks([])
    _hatch(axes.axvspan(0.0, TISSUE_MM))
    axes.axvline(0.0, color=INK, lw=0.8, ls=(0, (6, 3)))
    axes.plot([-34.0, -24.0], [-9.6, -9.6], color=INK, lw=1.5, marker="|", ms=8)
    axes.text(-23.2, -9.6, "10 mm", va="center")
    axes.text(-0.6, -9.6, "foramen", va="center", ha="right")


def _prepare_curve(axes: Axes, signal: float) -> None:
    axes.set_xlim(SHOWN_FROM_MM, SHOWN_TO_MM)
    axes.set_ylim(0.2, 1.0)
    axes.set_yticks([0.2, 0.4, 0.6, 0.8, 1.0])
    axes.set_xticks(np.arange(-4, 1), [f"{short}" for short in range(4, -1, -1)])
    axes.set_xlabel("tip: mm short of the foramen")
    axes.set_title("Quotient of the two magnitudes. Dashes: A", loc="left")
    _hatch(axes.axvspan(0.0, SHOWN_TO_MM))
    axes.axvline(0.0, color=INK, lw=0.8, ls=(0, (6, 3)))
    axes.axhline(signal, color=INK, lw=0.8)
    across = blended_transform_factory(axes.transAxes, axes.transData)
    axes.text(0.01, signal - 0.02, "here the meter gives its signal", va="top", transform=across)


def _prepare_chart(chart: Axes, motion: Axes, *, labelled: bool) -> None:
    for axes in (chart, motion):
        axes.set_xlim(0, LONG_S)
        axes.set_xticks([0, 10, 20, 30])
    chart.set_ylim(LEAST, MOST)
    chart.set_yticks([0, 1, 2, 3])
    chart.axhline(0, color=INK, lw=0.8)
    chart.set_xticklabels([])
    motion.set_ylim(START_MM - 0.4, END_MM + 0.9)
    motion.set_yticks([-4, 0], ["4", "0"])
    _hatch(motion.axhspan(0.0, END_MM + 0.9))
    motion.set_xlabel("time (s)")
    if labelled:
        chart.set_ylabel("indicated")
        motion.set_ylabel("mm short")
        return
    chart.set_yticklabels([])
    motion.set_yticklabels([])


def _hatch(past: Rectangle) -> None:
    past.set(facecolor="none", edgecolor=GREY, hatch="////", linewidth=0.0)


def _patch(axes: Axes, fill: str, lw: float) -> Polygon:
    patch = Polygon([(0, 0)], closed=True, fc=fill, ec=INK, lw=lw)
    axes.add_patch(patch)
    return patch


def _tube(along: Floats, axis: Floats, half: Floats) -> Floats:
    """Outline of something that lies this far to both sides of an axis."""
    upper = np.stack([along, axis + half], axis=1)
    return np.concatenate([upper, np.stack([along, axis - half], axis=1)[::-1]])
