"""How many canals leave the end of the root, and how many of those a buccal picture shows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lengthwise.anatomy.canals import Canals
from lengthwise.reference import radiography as r


def deviation_shares(
    canals: Canals, threshold_mm: float, *, angles_deg: Sequence[float] = (0.0,)
) -> tuple[float, float]:
    """Share of canals that deviate, and share whose deviation is visible.

    A canal deviates when its foramen lies further than the threshold from the root's axis in
    any direction. It is visible when the foramen's picture lies further than that from the
    picture of the axis, across the root, on at least one picture; the receptor stays parallel.

    Parameters
    ----------
    canals
        A population of one kind of tooth.
    threshold_mm
        What a reader would notice (mm); both shares depend strongly on it.
    angles_deg
        Horizontal angles of the pictures that are taken.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> upper = draw_canals("13", 5000, np.random.default_rng(1))
    >>> deviates, visible = deviation_shares(upper, 0.3)
    >>> visible < deviates
    True
    """
    f, d = r.FOCUS_PARALLELING_MM.value, r.TOOTH_PARALLELING_MM.value
    distal, buccal = canals.offset_distal_mm, canals.offset_buccal_mm
    grown = f / (f - d - buccal)
    shown = np.zeros(len(canals), dtype=bool)
    for angle in angles_deg:
        # The axis stays in the plane z = d; what lies before it goes against the source.
        aside = grown * (distal - buccal * np.tan(np.radians(angle)))
        shown |= np.abs(aside) > threshold_mm
    away = np.hypot(distal, buccal) > threshold_mm
    return float(away.mean()), float(shown.mean())
