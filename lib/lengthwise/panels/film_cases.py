"""The teeth of lesson 02: upper central incisors, invented, that differ at the end of the root."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.anatomy.teeth import Outline, outline

FDI = "11"
ENDS = {"plain": (0.3, 0.1, 0.0), "hidden": (1.0, 0.8, 0.0), "shown": (1.0, 0.1, 0.8)}
"""From the foramen to the apex, and its offset to buccal and to distal (mm)."""


def film_case(name: str) -> tuple[Canal, Outline]:
    """A tooth whose canal ends near the tip, towards the lip, or to the distal side.

    Parameters
    ----------
    name
        ``"plain"``, ``"hidden"`` or ``"shown"``.

    Raises
    ------
    ValueError
        If there is no such tooth.

    Examples
    --------
    >>> one, outside = film_case("hidden")
    >>> round(one.apex_mm - one.foramen_mm, 2), outside.fdi
    (1.0, '11')
    """
    if name not in ENDS:
        raise ValueError(f"name: got {name!r}; the lesson has {', '.join(ENDS)}.")
    drawn = draw_canals(FDI, 1, np.random.default_rng(2)).one(0)
    short, buccal, distal = ENDS[name]
    apex = 23.5
    made = replace(
        drawn,
        apex_mm=apex,
        cej_mm=10.6,
        foramen_mm=apex - short,
        constriction_mm=apex - short - 0.6,
        offset_buccal_mm=buccal,
        offset_distal_mm=distal,
    )
    return made, outline(FDI)
