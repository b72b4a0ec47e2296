"""The line from orifice to tissue cut into cells, one column of them for each tip.

A cell ends where something changes: at the tip, the constriction, the foramen, the liquid's
surface. Cells of no length are allowed and change nothing, so that nothing jumps when the tip
passes one of these places. Lengths are in mm, resistances in ohm, resistivities in ohm mm.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from .line import Floats, LineShape
from .line_tips import Tips
from .rows import interp_rows

CROWDING = 2.0
"""How much finer the cells are at both ends of a span than in its middle (1: not at all)."""


@dataclass(frozen=True, eq=False)
class Cells:
    """Cells from coronal to apical (m, N) for N tips, and what is at single nodes (N,).

    Attributes
    ----------
    series_ohm
        Along the line, (m, N).
    file_mm2, lift_ohm_mm2
        Wetted side of the file, and the resistance of an area between it and the line (0 inside
        the canal), (m, N).
    wall_mm, wall_log, outer_mm
        2π times the length of wall, ln(R/b) and R, (m, N).
    tip_node, tip_mm2, tip_ohm
        Node at which the tip stands, its face (wet also in a film, which it touches first) and
        spreading resistance, (N,).
    end_siemens
        The tissue beyond the last node, (N,).
    """

    series_ohm: Floats
    file_mm2: Floats
    lift_ohm_mm2: Floats
    wall_mm: Floats
    wall_log: Floats
    outer_mm: Floats
    tip_node: npt.NDArray[np.intp]
    tip_mm2: Floats
    tip_ohm: Floats
    end_siemens: Floats


def parts(tips: Tips) -> npt.NDArray[np.intp]:
    """How the cells are shared out among the spans between places, from the orifice down.

    The last two spans, between constriction, foramen and what lies next to them, are short. The
    others get twice as many. A surface below any orifice gives every line a span more: hand in
    full canals by themselves.
    """
    lowered = bool(np.any(tips.level_mm < tips.orifice_mm))
    return np.array([2, 2, 1, 1] if lowered else [2, 1, 1])


def cut(shape: LineShape, tips: Tips, each: int) -> Cells:
    """The line of every tip, with this many cells for each of its `parts`."""
    top, tip, level = tips.orifice_mm, tips.tip_mm, tips.level_mm
    spans = each * parts(tips)
    places = [top, tip, tips.constriction_mm, np.zeros_like(tip)]
    if len(spans) == len(places):
        places.append(np.minimum(level, top))
    marks = -np.sort(-np.stack(places), axis=0)
    height = _nodes(marks, spans)
    tip_node = np.cumsum([0, *spans])[(marks > tip).sum(axis=0)]
    # Beyond the foramen both are held at what they are there.
    radius, outer = interp_rows(
        height, tips.canal, shape.height_mm, shape.radius_mm, shape.outer_radius_mm
    )

    middle, length = (height[:-1] + height[1:]) / 2, height[:-1] - height[1:]
    past, beside = middle < 0, middle > tip
    reach = 2 * tips.foramen_radius_mm / np.pi
    film = np.where(middle > level, tips.film_mm, np.inf)
    file = tips.tip_radius_mm + tips.widening * (height - tip)
    a0, a1 = np.where(beside, file[:-1], 0.0), np.where(beside, file[1:], 0.0)
    a, b, r = (a0 + a1) / 2, (radius[:-1] + radius[1:]) / 2, (outer[:-1] + outer[1:]) / 2

    def over_area(z: Floats, canal_mm: Floats, file_mm: Floats) -> Floats:
        # Beyond the foramen two radii squared, for a hemisphere has twice the area of a disc.
        free = np.where(past, 2 * (reach - z) ** 2, canal_mm**2)
        dry = np.maximum(canal_mm - film, file_mm)
        free -= np.where(past, file_mm, dry) ** 2
        return np.asarray(1 / np.maximum(free, tips.gap_mm * (2 * file_mm + tips.gap_mm)))

    # Simpson's rule: canal and file may taper inside a cell.
    inverse = over_area(height[:-1], radius[:-1], a0) + over_area(height[1:], radius[1:], a1)
    inverse = (inverse + 4 * over_area(middle, b, a)) / (6 * np.pi)
    exposed_file = past & beside
    hemisphere = np.where(exposed_file, np.maximum(reach - middle, a) / np.where(beside, a, 1), 1)

    exposed = np.maximum(-tip, 0.0)
    return Cells(
        series_ohm=np.where(past, tips.tissue_ohm_mm, tips.liquid_ohm_mm) * length * inverse,
        file_mm2=2 * np.pi * a * length * np.where(past, 1.0, _wet(b, a, film)),
        lift_ohm_mm2=tips.tissue_ohm_mm * a * np.log(hemisphere),
        wall_mm=np.where(past, 0.0, 2 * np.pi * length),
        wall_log=np.log(r / b),
        outer_mm=r,
        tip_node=tip_node,
        tip_mm2=np.pi * tips.tip_radius_mm**2,
        tip_ohm=tips.tissue_ohm_mm
        / (4 * tips.tip_radius_mm)
        * np.maximum(1 - tips.tip_radius_mm / (exposed + reach), 0.0)
        * np.minimum(exposed / reach, 1.0),
        end_siemens=2 * np.pi * (exposed + reach) / tips.tissue_ohm_mm,
    )


def _nodes(marks: Floats, spans: npt.NDArray[np.intp]) -> Floats:
    """Heights of all nodes: so many cells between one mark and the next, finest at both ends.

    Current between file and liquid runs where the file comes closest to the tissue, and at the
    orifice of a flooded chamber.
    """
    nodes = [marks[:1]]
    for (above, below), cells in zip(pairwise(marks), spans, strict=True):
        u = np.arange(1, cells + 1)[:, None] / cells
        down, up = u**CROWDING, (1 - u) ** CROWDING
        nodes.append(above + (below - above) * (down / (down + up)))
    return np.concatenate(nodes)


def _wet(canal_mm: Floats, file_mm: Floats, film_mm: Floats) -> Floats:
    """Share of the room between wall and file that holds liquid; so much of the file is wet."""
    room = canal_mm**2 - file_mm**2
    held = canal_mm**2 - np.maximum(canal_mm - film_mm, file_mm) ** 2
    return np.where(room > 0, held / np.where(room > 0, room, 1.0), 1.0)
