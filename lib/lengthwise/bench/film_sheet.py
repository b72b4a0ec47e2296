"""Radiographs side by side on one sheet, each with a ruler along its edge, as a small picture."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from lengthwise.bench.film import Film

PIXELS_PER_MM = 12
EDGE_PX = 44
QUALITY = 70
FIVE_MM = 5
LETTERS = "ABCDEF"


def film_sheet(films: Sequence[Film], *, apex_up: bool) -> str:
    """Lay films out from left to right, lettered A, B and so on; gives a data URI.

    Lines across the picture stand every five millimetres, ticks every millimetre. Distal is to
    the right on each.

    Parameters
    ----------
    films
        One to six.
    apex_up
        How the tooth stands in the mouth; False for a lower tooth.

    Raises
    ------
    ValueError
        No film, or more than there are letters for.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> from lengthwise.anatomy.teeth import outline
    >>> from lengthwise.bench.film import expose_film
    >>> rng = np.random.default_rng(1)
    >>> one = draw_canals("11", 1, rng).one(0)
    >>> film, _ = expose_film(one, outline("11"), rng=rng)
    >>> film_sheet([film], apex_up=True)[:23]
    'data:image/jpeg;base64,'
    """
    if not 1 <= len(films) <= len(LETTERS):
        raise ValueError(
            f"field films: got {len(films)}; allowed are 1 to {len(LETTERS)}; lay more out on two "
            "sheets"
        )
    sheets = [_with_ruler(film, apex_up) for film in films]
    letter_px = EDGE_PX if len(films) > 1 else 0
    width, height = sum(one.width for one in sheets), sheets[0].height + letter_px
    whole = Image.new("L", (width, height), 255)
    left = 0
    for letter, one in zip(LETTERS, sheets, strict=False):
        whole.paste(one, (left, letter_px))
        if letter_px:
            _write(whole, (left + one.width // 2, 4), letter, "ma", 28)
        left += one.width
    stream = io.BytesIO()
    whole.save(stream, "JPEG", quality=QUALITY)
    return "data:image/jpeg;base64," + base64.b64encode(stream.getvalue()).decode("ascii")


def _with_ruler(film: Film, apex_up: bool) -> Image.Image:
    receptor = film.setup.receptor
    size = round(receptor.width_mm * PIXELS_PER_MM), round(receptor.height_mm * PIXELS_PER_MM)
    rows = film.image[::-1] if apex_up else film.image
    grey = Image.fromarray((rows * 255).astype(np.uint8)).resize(size, Image.Resampling.BICUBIC)
    sheet = Image.new("L", (size[0] + EDGE_PX + 12, size[1] + 16), 255)
    sheet.paste(grey, (EDGE_PX, 8))
    pen = ImageDraw.Draw(sheet)
    for mm in range(int(receptor.height_mm) + 1):
        y = 8 + mm * PIXELS_PER_MM
        fifth = mm % FIVE_MM == 0
        pen.line([(EDGE_PX - (12 if fifth else 6), y), (EDGE_PX, y)], fill=0, width=2)
        if fifth:
            _write(sheet, (EDGE_PX - 15, y), str(mm), "rm", 18)
            for x in range(EDGE_PX, EDGE_PX + size[0], 12):
                pen.line([(x, y), (x + 3, y)], fill=190, width=1)
    return sheet


def _write(sheet: Image.Image, at: tuple[int, int], words: str, anchor: str, size: int) -> None:
    font = ImageFont.load_default(size)
    ImageDraw.Draw(sheet).text(at, words, fill=0, anchor=anchor, font=font)
