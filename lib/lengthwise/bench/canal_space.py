"""The room inside the end of a canal: how wide, how much liquid, where a point binds.

Heights are in mm coronal of the foramen. All canals of a batch share one grid of heights.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import WIDTH_PLACES_MM, Canals
from lengthwise.reference import points as p

Floats = npt.NDArray[np.float64]

HEIGHTS_MM: Floats = np.concatenate([np.arange(40) * 0.1, np.arange(4.0, 16.1, 0.5)])
"""Where widths are kept: every tenth near the foramen. The top is a flooded canal."""

NOWHERE_MM = -9.0
"""Stands for "does not bind" and "no block": further past the foramen than any point goes."""


@dataclass(frozen=True, eq=False)
class Space:
    """Canals as widths and volumes; both of shape (n, heights).

    Attributes
    ----------
    diameter_mm : of the circle with the canal's area, at `HEIGHTS_MM`.
    below_ul : volume between the foramen and that height.
    """

    diameter_mm: Floats
    below_ul: Floats


def space_of(canals: Canals, *, shaped: bool = True) -> Space:
    """The end of each canal, as it grew or as it is after shaping.

    Straight lines between the widths at the foramen, the constriction, and 2 and 5 mm from the
    apex; a shaped canal is nowhere narrower than what shaped it.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> canals = draw_canals("13", 500, np.random.default_rng(1))
    >>> grown, shaped = space_of(canals, shaped=False), space_of(canals)
    >>> bool(np.all(shaped.diameter_mm >= grown.diameter_mm))
    True
    """
    diameter = diameters_mm(canals, HEIGHTS_MM, shaped=shaped)
    area = np.pi / 4 * diameter**2
    slices = (area[:, 1:] + area[:, :-1]) / 2 * np.diff(HEIGHTS_MM)
    below_ul = np.concatenate([np.zeros((len(area), 1)), np.cumsum(slices, axis=1)], axis=1)
    return Space(diameter, below_ul)


def diameters_mm(canals: Canals, heights_mm: Floats, *, shaped: bool) -> Floats:
    """Diameters (mm) at heights (m,) or (n, m) above the foramen, (n, m); see `space_of`."""
    low, widths = knots_mm(canals)
    diameter = np.repeat(widths[:, :1], heights_mm.shape[-1], axis=1)
    for i, j in pairwise(range(low.shape[1])):
        slope = (widths[:, j] - widths[:, i]) / (low[:, j] - low[:, i])
        line = widths[:, i, None] + slope[:, None] * (heights_mm - low[:, i, None])
        diameter = np.where(low[:, i, None] < heights_mm, line, diameter)
    diameter = np.maximum(diameter, p.NARROWEST_MM.value)
    if shaped:
        above_end = heights_mm - p.PREPARED_SHORT_MM.value
        prepared = prepared_mm(canals)[:, None] + p.PREPARED_TAPER.value * above_end
        diameter = np.where(above_end >= 0, np.maximum(diameter, prepared), diameter)
    return diameter


def knots_mm(canals: Canals) -> tuple[Floats, Floats]:
    """Heights and diameters (mm) between which a grown canal is straight, both (n, 4).

    At the foramen, the constriction, and 2 and 5 mm from the apex.
    """
    width = np.sqrt(canals.diameter_bl_mm * canals.diameter_md_mm)
    beyond = canals.apex_mm - canals.foramen_mm
    narrowest = canals.foramen_mm - canals.constriction_mm
    _, second, fifth = WIDTH_PLACES_MM
    two = np.maximum(second - beyond, narrowest + p.WIDENS_WITHIN_MM.value)
    five = np.maximum(fifth - beyond, two + p.WIDTHS_APART_MM.value)
    heights = np.stack([np.zeros_like(narrowest), narrowest, two, five], axis=1)
    ends = [canals.foramen_diameter_mm, canals.constriction_diameter_mm]
    return heights, np.stack([*ends, width[:, 1], width[:, 2]], axis=1)


def prepared_mm(canals: Canals) -> Floats:
    """Diameter (mm) to which a canal is prepared: two or three sizes above its constriction."""
    wanted = canals.constriction_diameter_mm + p.PREPARED_WIDER_MM.value
    return np.ceil(wanted / p.SIZE_STEP_MM.value) * p.SIZE_STEP_MM.value


def level_mm(space: Space, volume_ul: Floats) -> Floats:
    """Height (mm) to which a volume (µl) fills each canal from the foramen, (n,)."""
    return _lookup(space.below_ul, np.broadcast_to(HEIGHTS_MM, space.below_ul.shape), volume_ul)


def volume_ul(space: Space, level: Floats) -> Floats:
    """Volume (µl) of each canal below a height (mm), (n,): the inverse of `level_mm`."""
    return _lookup(np.broadcast_to(HEIGHTS_MM, space.below_ul.shape), space.below_ul, level)


def binds_mm(space: Space, tip_mm: npt.ArrayLike, taper: npt.ArrayLike) -> Floats:
    """Height (mm) at which a point of this tip diameter and taper sticks, (n,).

    `NOWHERE_MM` where it runs out of the foramen. A point sticks where any part of it is as wide
    as the canal; paper gives a little.
    """
    tip, widening = (
        np.atleast_1d(np.asarray(v, dtype=np.float64))[:, None] for v in (tip_mm, taper)
    )
    room = space.diameter_mm + p.PAPER_GIVES_MM.value - tip
    # A part of the point this far above its tip fills the canal; a tip too wide stops right here.
    stops = HEIGHTS_MM - np.maximum(room, 0.0) / np.maximum(widening, 1e-6)
    highest = stops.max(axis=1)
    return np.where(highest > 0, highest, NOWHERE_MM)


def _lookup(xs: Floats, ys: Floats, x: Floats) -> Floats:
    """Row by row, y at x on straight lines; held at both ends."""
    at = np.clip((xs < x[:, None]).sum(axis=1), 1, xs.shape[1] - 1)
    rows = np.arange(len(at))
    x0, x1, y0, y1 = xs[rows, at - 1], xs[rows, at], ys[rows, at - 1], ys[rows, at]
    return np.asarray(y0 + (y1 - y0) * np.clip((x - x0) / (x1 - x0), 0.0, 1.0))
