"""Pictures that move: drawn once off-screen, then only their changing parts are drawn again.

Redrawing a whole figure for every step of a slider takes 100 ms and flickers. Here the figure
is drawn once with its moving artists left out and kept as a background; each frame restores
the background, draws the moving artists on it, and sends the result as PNG bytes in an
``<img>`` whose alternative text is the sentence that says what the picture shows.
"""

from __future__ import annotations

import base64
import html
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ipywidgets import HTML
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image

from lengthwise.panels.palette import CUES, INK
from lengthwise.panels.stamps import Stamps

_OWN_COLOURS = 96
_RAMP_STEPS = 20
_NEARLY_WHITE = 252


@dataclass(frozen=True)
class LiveFigure:
    """A figure whose moving artists can be redrawn in about 10 ms.

    Change the artists (``line.set_data(...)`` and so on), then call `show`.

    Attributes
    ----------
    moving
        The artists that are drawn again in every frame, in drawing order.
    widget
        The HTML widget that holds the picture.
    """

    figure: Figure
    moving: tuple[Artist, ...]
    widget: HTML
    _canvas: FigureCanvasAgg
    _background: Any  # Matplotlib's saved region; it has no public type
    _stamps: Stamps
    _colours: Image.Image

    def png(self) -> bytes:
        """Draw the picture as it is now; gives PNG bytes."""
        self._canvas.restore_region(self._background)
        for artist in self.moving:
            if isinstance(artist, Text):
                self._stamps.draw(artist, self._canvas)
            else:
                self.figure.draw_artist(artist)
        # A picture with a palette is a third of the size, and the colours are looked for once:
        # together that is what makes a frame fast. The lowest compression is the fastest.
        small = _picture(self._canvas).quantize(palette=self._colours, dither=Image.Dither.NONE)
        stream = io.BytesIO()
        small.save(stream, "PNG", compress_level=1)
        return stream.getvalue()

    def show(self, sentence: str) -> None:
        """Send the picture as it is now, with the sentence as its alternative text."""
        self.widget.value = picture_html(self.png(), sentence)


def live_figure(figure: Figure, moving: Sequence[Artist], sentence: str) -> LiveFigure:
    """Draw a figure once and keep it ready for fast frames.

    Parameters
    ----------
    figure
        A Matplotlib figure made without ``pyplot``, all its artists in their start state.
    moving
        The artists that will change, in the order in which they are to be drawn.
    sentence
        What the start state shows, in words and numbers.

    Returns
    -------
    LiveFigure
        Its ``widget`` already shows the start state.

    Raises
    ------
    ValueError
        If no artist moves, or if the sentence is empty.

    Examples
    --------
    >>> from matplotlib.figure import Figure
    >>> figure = Figure()
    >>> (line,) = figure.subplots().plot([0.0, 1.0], [0.0, 1.0])
    >>> live = live_figure(figure, [line], "The line rises from 0 to 1 mm.")
    >>> line.set_data([0.0, 1.0], [0.0, 0.5])
    >>> live.show("The line rises from 0 to 0.5 mm.")
    >>> 'alt="The line rises from 0 to 0.5 mm."' in live.widget.value
    True
    """
    if not moving:
        raise ValueError(
            "field moving: got no artists; allowed is one or more; name at least one artist that "
            "changes, or show a plain picture instead of a live one"
        )
    canvas = FigureCanvasAgg(figure)
    for artist in moving:
        artist.set_animated(True)  # an animated artist is left out of the background
    canvas.draw()
    background = canvas.copy_from_bbox(figure.bbox)
    for artist in moving:
        figure.draw_artist(artist)
    colours = _colours_of(_picture(canvas))
    live = LiveFigure(figure, tuple(moving), HTML(), canvas, background, Stamps(), colours)
    live.show(sentence)
    return live


def picture_html(png: bytes, sentence: str) -> str:
    """Put a picture into an ``<img>`` element with the sentence as its alternative text.

    Raises
    ------
    ValueError
        If the sentence is empty: a picture without words says nothing to a person who cannot
        see it.

    Examples
    --------
    >>> picture_html(b"png", "A flat line at 2 mm.")[:32]
    '<img alt="A flat line at 2 mm." '
    """
    if not sentence.strip():
        raise ValueError(
            "field sentence: got an empty text; allowed is one that says something; say in one "
            "sentence with numbers what the picture shows"
        )
    data = base64.b64encode(png).decode("ascii")
    return (
        f'<img alt="{html.escape(sentence, quote=True)}" '
        'style="width: 432px; max-width: 100%; height: auto; display: block" '
        f'src="data:image/png;base64,{data}">'
    )


def _picture(canvas: FigureCanvasAgg) -> Image.Image:
    pixels = canvas.buffer_rgba()
    height, width = pixels.shape[:2]
    return Image.frombuffer("RGBA", (width, height), pixels, "raw", "RGBA", 0, 1).convert("RGB")


def _colours_of(picture: Image.Image) -> Image.Image:
    """Choose 236 colours: the picture's own, and each of the course's colours in steps to white.

    The steps hold the shades that appear when something moves, grows pale or is hatched.
    """
    own = picture.quantize(_OWN_COLOURS, Image.Quantize.FASTOCTREE).getpalette() or []
    ramps: list[int] = []
    for colour in (INK, *(cue.colour for cue in CUES.values())):
        full = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
        for step in range(_RAMP_STEPS):
            share = step / (_RAMP_STEPS - 1)
            ramps += [round(level + (255 - level) * share) for level in full]
    palette = Image.new("P", (1, 1))
    # The octree's white is 254; a picture must not stand out from a white page as a grey box.
    own = [255 if level >= _NEARLY_WHITE else level for level in own[: 3 * _OWN_COLOURS]]
    palette.putpalette(own + ramps)
    return palette
