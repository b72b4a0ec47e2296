"""Canals of the simulated patient as the lines that a meter reads.

A line runs from the foramen to the orifice, which lies where crown meets root; pulp chamber and
crown are left out. The taper between 2 and 5 mm from the apex goes on up to the orifice. Canals
and roots that are not round stand as circles of their area.
"""

import numpy as np

from lengthwise.anatomy.canals import Canals
from lengthwise.anatomy.teeth import outline
from lengthwise.physics.line import LineShape
from lengthwise.reference import points as p
from lengthwise.reference.electrical import LEAST_WALL_MM, PREPARED_END_MM

from .canal_space import HEIGHTS_MM, diameters_mm, knots_mm


def line_shapes(canals: Canals, *, shaped: bool) -> LineShape:
    """Every canal as it grew or, `shaped`, as it was prepared.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> canals = draw_canals("13", 100, np.random.default_rng(1))
    >>> grown, shaped = line_shapes(canals, shaped=False), line_shapes(canals, shaped=True)
    >>> bool(np.all(shaped.radius_mm >= grown.radius_mm)), round(float(grown.orifice_mm.mean()))
    (True, 16)
    """
    knots, _ = knots_mm(canals)
    orifice = canals.foramen_mm - canals.cej_mm
    end = p.PREPARED_SHORT_MM.value
    ends = np.tile([end - PREPARED_END_MM.value, end], (len(canals), 1))
    everywhere = np.tile(HEIGHTS_MM, (len(canals), 1))
    heights = np.concatenate([everywhere, knots, ends, orifice[:, None]], axis=1)
    heights = np.sort(np.minimum(heights, orifice[:, None]), axis=1)
    radius = diameters_mm(canals, heights, shaped=shaped) / 2
    from_apex = heights + (canals.apex_mm - canals.foramen_mm)[:, None]
    root = outline(canals.fdi, canals.canal)
    half_md, half_bl = root.root_half_widths(from_apex, (canals.apex_mm - canals.cej_mm)[:, None])
    outer = np.maximum(np.sqrt(half_md * half_bl), radius + LEAST_WALL_MM.value)
    return LineShape(heights, radius, outer)
