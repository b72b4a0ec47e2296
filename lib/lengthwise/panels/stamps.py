"""Words drawn once and stamped afterwards: text is the slowest thing in a moving picture.

Laying out and drawing a dozen letters takes more than a millisecond; putting the same letters
down again from memory takes a twentieth of that. A slider shows the same few words and numbers
over and over.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.text import Text

MOST_STAMPS = 400
"""About 10 MB; the oldest goes first."""


class Stamps:
    """The words that a picture has shown, ready to be put down again.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> figure = Figure()
    >>> words = figure.text(0.5, 0.5, "25.1 mm")
    >>> stamps = Stamps()
    >>> stamps.draw(words, FigureCanvasAgg(figure))
    >>> stamps.count
    1
    """

    def __init__(self) -> None:
        self._kept: dict[tuple[Any, ...], tuple[float, float, npt.NDArray[np.uint8]]] = {}

    @property
    def count(self) -> int:
        """How many different words are kept."""
        return len(self._kept)

    def draw(self, words: Text, canvas: FigureCanvasAgg) -> None:
        """Put one text artist onto the canvas, from memory where it was shown before."""
        if not words.get_text() or not words.get_visible():
            return
        key = (words.get_text(), *words.get_position(), words.get_color(), id(words))
        if key not in self._kept:
            if len(self._kept) >= MOST_STAMPS:
                self._kept.pop(next(iter(self._kept)))
            self._kept[key] = _stamp(words, canvas)
        x, y, pixels = self._kept[key]
        if not pixels.size:
            return
        renderer = canvas.get_renderer()
        renderer.draw_image(renderer.new_gc(), x, y, pixels)


def _stamp(words: Text, canvas: FigureCanvasAgg) -> tuple[float, float, npt.NDArray[np.uint8]]:
    """Draw a text on glass and cut it out: left and bottom edge in pixels, and the pixels."""
    width, height = canvas.get_width_height(physical=True)
    glass = RendererAgg(width, height, canvas.figure.dpi)
    words.draw(glass)
    pixels = np.asarray(glass.buffer_rgba())
    inked = pixels[..., 3] > 0
    rows = np.flatnonzero(inked.any(axis=1))  # then the columns of these rows alone
    if not rows.size:  # blanks, or words beyond the edge of the figure
        return 0, 0, pixels[:0]
    top, bottom = rows[0], rows[-1] + 1
    columns = np.flatnonzero(inked[top:bottom].any(axis=0))
    left, right = columns[0], columns[-1] + 1
    # An image is put down by its lower left corner, its first row at the bottom.
    return left, height - bottom, pixels[top:bottom, left:right][::-1].copy()
