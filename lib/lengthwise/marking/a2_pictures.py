"""Pictures for the questions of a2: teeth are drawn until their pictures fit the question."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.anatomy.teeth import outline
from lengthwise.bench.film import Film, film_image
from lengthwise.bench.film_landmarks import Landmarks, project_landmarks, read_film
from lengthwise.bench.film_setup import Setup, off_receptor, set_up
from lengthwise.evidence import WorkingFilm

Generator = np.random.Generator

MOST_TRIES = 2000
PIXEL_MM, LAYERS = 0.1, 80
LONGEST_MM = 27.0
"""Longer teeth do not fit on the receptor at every angle that is asked about."""


def taken(
    fdi: str,
    how: list[dict[str, Any]],
    fits: Callable[..., bool],
    rng: Generator,
    *,
    past_mm: float | None = None,
    from_apex_mm: float = -2.5,
) -> tuple[Canal, float, list[tuple[Film, Landmarks]]]:
    """A tooth, its file's length (mm) and the pictures of it, of which all can be measured.

    The file stands `past_mm` beyond the foramen, or else `from_apex_mm` beyond the root's end.
    """
    outside = outline(fdi)
    canals = draw_canals(fdi, MOST_TRIES, rng)
    for i in range(MOST_TRIES):
        canal = _rounded(canals.one(i))
        if canal.apex_mm > LONGEST_MM:
            continue
        file_mm = canal.apex_mm + from_apex_mm
        if past_mm is not None:
            file_mm = canal.foramen_mm + past_mm
        file_mm = round(file_mm, 1)
        setups = [set_up(canal, pixel_mm=PIXEL_MM, **one) for one in how]
        seen = [project_landmarks(canal, outside, each.view, file_mm) for each in setups]
        on = not any(off_receptor(each, one) for each, one in zip(setups, seen, strict=True))
        if on and fits(canal, *seen):
            shots = [
                (_film(canal, each, one, file_mm, rng), one)
                for each, one in zip(setups, seen, strict=True)
            ]
            return canal, file_mm, shots
    raise RuntimeError(f"no tooth {fdi} fits its question in {MOST_TRIES} tries")


def _film(canal: Canal, setup: Setup, seen: Landmarks, file_mm: float, rng: Generator) -> Film:
    image = film_image(
        canal, outline(canal.fdi), setup, file_length_mm=file_mm, layers=LAYERS, rng=rng
    )
    read = read_film(seen, rng)
    record = WorkingFilm(file_length_mm=file_mm, tip_short_of_radiographic_apex_mm=read["gap"])
    return Film(image, record, setup)


def _rounded(canal: Canal) -> Canal:
    return replace(canal, apex_mm=round(canal.apex_mm, 1), foramen_mm=round(canal.foramen_mm, 1))


def tip(seen: Landmarks) -> Any:
    """Where the file's tip falls on the receptor (mm)."""
    if seen.tip is None:
        raise ValueError("field tip: missing; take the picture with a file in the canal")
    return seen.tip


def file_shown_mm(seen: Landmarks) -> float:
    """Length of the file on the picture (mm)."""
    return seen.along_mm(tip(seen))


def gap_shown_mm(seen: Landmarks) -> float:
    """From the file's tip to the end of the root on the picture (mm); negative when beyond."""
    return seen.along_mm(seen.apex) - file_shown_mm(seen)
