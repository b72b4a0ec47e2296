"""A trace as a strip chart: the indicated value against time, and under it the file's depth.

Nothing on it says more than what was shown: no colours or zones along the scale, and the only line
across it is at zero. Deeper lies lower, as a file that goes in is seen to sink.
"""

import base64
import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

from lengthwise.evidence import ElectronicReading

Floats = npt.NDArray[np.float64]

SIZE_PX = (660, 700)
LEFT_PX, RIGHT_PX = 64, 646
SHOWN_PX, DEPTH_PX = (36, 316), (374, 634)
"""The two charts from top to bottom."""

TEXT_PX, TWICE = 22, 2
"""Text stays readable on a phone, which shows the picture at half its size. Lines are drawn twice
as large and made smaller, so that they are smooth."""

BITS = 4
COLOURS = 2**BITS
INK, MAJOR, MINOR = 20, 165, 222
MOST_SHOWN, LEAST_SHOWN = 3.3, -0.8
"""Indicated values on the chart; no display goes further."""

TICK_S, FINE_S = 5, 1
FINE_MM = 0.2


@dataclass(frozen=True)
class _Chart:
    """From numbers to pixels: time to the right, values from `at_top` to `at_bottom`."""

    draw: ImageDraw.ImageDraw
    last_s: float
    top_px: int
    bottom_px: int
    at_top: float
    at_bottom: float

    def x(self, time_s: float) -> float:
        return TWICE * (LEFT_PX + (RIGHT_PX - LEFT_PX) * time_s / self.last_s)

    def y(self, value: float) -> float:
        share = (value - self.at_top) / (self.at_bottom - self.at_top)
        return TWICE * (self.top_px + (self.bottom_px - self.top_px) * share)

    def across(self, values: Sequence[float], grey: int, *, named: bool = False) -> None:
        ends = self.x(0), self.x(self.last_s)
        for value in values:
            y = self.y(value)
            self.draw.line([(ends[0], y), (ends[1], y)], fill=grey, width=TWICE)
            if named:
                self.text((ends[0] - 8 * TWICE, y), f"{value:g}", "rm")

    def upright(self, moments_s: Sequence[float], grey: int, *, named: bool = False) -> None:
        ends = TWICE * self.top_px, TWICE * self.bottom_px
        for moment in moments_s:
            x = self.x(moment)
            self.draw.line([(x, ends[0]), (x, ends[1])], fill=grey, width=TWICE)
            if named:
                self.text((x, ends[1] + 6 * TWICE), f"{moment:g}", "ma")

    def curve(self, time_s: Floats, values: Floats) -> None:
        """A line through what was shown, broken where nothing was."""
        shown = np.isfinite(values)
        ends = np.flatnonzero(np.diff(shown)) + 1
        for part in np.split(np.arange(len(values)), ends):
            if shown[part[0]]:
                points = [(self.x(time_s[i]), self.y(values[i])) for i in part]
                self.draw.line(points, fill=INK, width=2 * TWICE + 1, joint="curve")

    def text(self, place: tuple[float, float], words: str, anchor: str) -> None:
        self.draw.text(place, words, fill=INK, font=_font(), anchor=anchor)

    def frame(self, title: str) -> None:
        corners = [self.x(0), TWICE * self.top_px, self.x(self.last_s), TWICE * self.bottom_px]
        self.draw.rectangle(corners, outline=INK, width=TWICE)
        self.text((self.x(0), TWICE * (self.top_px - 8)), title, "ls")


@cache
def _font() -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(TWICE * TEXT_PX)


def trace_picture(reading: ElectronicReading) -> str:
    """The strip chart of a trace as a data URI, a PNG with a few greys.

    Examples
    --------
    >>> reading = ElectronicReading(
    ...     time_s=(0, 1, 2), depth_mm=(22.0, 23.0, 24.0), indicated=(2.0, None, 0.0))
    >>> trace_picture(reading)[:22]
    'data:image/png;base64,'
    """
    time, depth = np.asarray(reading.time_s, float), np.asarray(reading.depth_mm, float)
    values = np.array([np.nan if v is None else v for v in reading.indicated or ()])
    last = float(np.ceil(time[-1]))
    image = Image.new("L", (TWICE * SIZE_PX[0], TWICE * SIZE_PX[1]), 255)
    draw = ImageDraw.Draw(image)
    shown = _Chart(draw, last, *SHOWN_PX, MOST_SHOWN, LEAST_SHOWN)
    high, deep = np.floor(depth.min()), np.ceil(depth.max())
    below = _Chart(draw, last, *DEPTH_PX, high - FINE_MM / 2, deep + FINE_MM / 2)
    for chart, fine, coarse in (
        (shown, np.arange(-0.5, 3.1, 0.5), np.arange(0, 4)),
        (below, np.arange(high, deep + FINE_MM / 2, FINE_MM), np.arange(high, deep + 1)),
    ):
        chart.across(fine.tolist(), MINOR)
        chart.upright(np.arange(0, last, FINE_S).tolist(), MINOR)
        chart.upright(np.arange(0, last, TICK_S).tolist(), MAJOR, named=chart is below)
        chart.across(coarse.tolist(), MAJOR, named=True)
    shown.across([0.0], INK)
    shown.frame("indicated value")
    below.frame("depth of the file (mm)")
    middle = (below.x(0) + below.x(last)) / 2
    below.text((middle, TWICE * (DEPTH_PX[1] + 6 + TEXT_PX)), "time (s)", "ma")
    shown.curve(time, values)
    below.curve(time, depth)
    greys = np.asarray(image.reduce(TWICE)) // (256 // COLOURS)
    small = Image.fromarray(greys, "P")
    small.putpalette([round(255 * k / (COLOURS - 1)) for k in range(COLOURS) for _ in "rgb"])
    stream = io.BytesIO()
    small.save(stream, "PNG", bits=BITS)
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode("ascii")
