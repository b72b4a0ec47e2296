"""Only what moves is drawn again, and every picture carries its words."""

from __future__ import annotations

import base64
import io
import re

import numpy as np
import pytest
from lengthwise.panels.live_figure import LiveFigure, live_figure, picture_html
from lengthwise.panels.palette import course_style
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray
from PIL import Image


def moving_line() -> tuple[LiveFigure, Line2D]:
    with course_style():
        figure = Figure()
        axes = figure.subplots()
        (line,) = axes.plot([20.0, 25.0, 28.0], [0.0, 1.0, 0.0])
        axes.set_xlabel("length (mm)")
    return live_figure(figure, [line], "A peak at 25 mm."), line


def pixels(live: LiveFigure) -> NDArray[np.uint8]:
    return np.asarray(Image.open(io.BytesIO(live.png())).convert("RGB"))


def test_the_picture_follows_its_artist_and_comes_back_without_traces() -> None:
    live, line = moving_line()
    first = pixels(live)
    line.set_data([20.0, 22.0, 28.0], [0.0, 1.0, 0.0])
    moved = pixels(live)
    line.set_data([20.0, 25.0, 28.0], [0.0, 1.0, 0.0])
    assert (first != moved).any()
    # Nothing of the earlier frames is left behind.
    assert np.array_equal(first, pixels(live))


def test_a_frame_equals_the_figure_drawn_from_scratch() -> None:
    live, line = moving_line()
    line.set_data([20.0, 22.0, 28.0], [0.0, 1.0, 0.0])
    with course_style():
        figure = Figure()
        axes = figure.subplots()
        (other,) = axes.plot([20.0, 25.0, 28.0], [0.0, 1.0, 0.0])
        axes.set_xlabel("length (mm)")
        axes.set_xlim(axes.get_xlim())
        axes.set_ylim(axes.get_ylim())
        other.set_data([20.0, 22.0, 28.0], [0.0, 1.0, 0.0])
        stream = io.BytesIO()
        figure.savefig(stream, format="png")
    whole = np.asarray(Image.open(stream).convert("RGB"), dtype=int)
    # The palette of the picture moves anti-aliased edges by a shade, never a mark.
    assert np.abs(whole - pixels(live).astype(int)).mean() < 1.0


@pytest.mark.parametrize(("place", "words"), [((0.5, 0.5), "  "), ((3.0, 3.0), "25.1 mm")])
def test_words_without_ink_on_the_picture_change_nothing(
    place: tuple[float, float], words: str
) -> None:
    figure = Figure()
    live = live_figure(figure, [figure.text(*place, words)], "Nothing to see.")
    assert (pixels(live) == 255).all()


def test_white_stays_white() -> None:
    live, _ = moving_line()
    assert tuple(pixels(live)[0, 0]) == (255, 255, 255)


def test_the_widget_shows_the_picture_with_its_sentence() -> None:
    live, line = moving_line()
    line.set_data([20.0, 22.0, 28.0], [0.0, 1.0, 0.0])
    live.show("A peak at 22 mm.")
    found = re.fullmatch(
        r'<img alt="A peak at 22 mm\." style="[^"]*max-width: 100%[^"]*" '
        r'src="data:image/png;base64,([^"]+)">',
        live.widget.value,
    )
    assert found
    assert base64.b64decode(found.group(1)) == live.png()


def test_the_picture_is_four_and_a_half_inches_wide_on_the_page() -> None:
    live, _ = moving_line()
    assert "width: 432px" in live.widget.value  # 4.5 in at 96 CSS pixels an inch
    assert live.figure.get_figwidth() == 4.5


def test_quotes_and_angle_brackets_in_a_sentence_stay_words() -> None:
    shown = picture_html(b"png", 'less than < 1 mm, "so to say"')
    assert 'alt="less than &lt; 1 mm, &quot;so to say&quot;"' in shown


def test_a_picture_without_words_is_refused() -> None:
    with pytest.raises(ValueError, match="sentence"):
        picture_html(b"png", "  ")


def test_a_picture_in_which_nothing_moves_is_refused() -> None:
    with pytest.raises(ValueError, match="moving"):
        live_figure(Figure(), [], "Nothing.")
