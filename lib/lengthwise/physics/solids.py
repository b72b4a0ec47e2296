"""How far each ray runs inside a solid whose cross-sections are ellipses.

A row of the receptor and a height above it fix where the ray is along and across the tooth; the
column only says how far distally. So in each layer parallel to the receptor the inside is one
interval for a whole row, and only its two ends have to be put down: a column's share of the
interval is exact, and a running sum along the row fills what lies between.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.ndimage import maximum_filter1d, minimum_filter1d

from lengthwise.physics.projection import View

Floats = npt.NDArray[Any]


@dataclass(frozen=True, eq=False)
class Solid:
    """A solid along the tooth's axis: ellipses with their centres and half-widths.

    Attributes
    ----------
    along_mm
        Equally spaced places along the tooth, growing, shape (n,).
    distal_mm, buccal_mm
        Centres of the cross-sections, shape (n,).
    half_distal_mm, half_buccal_mm
        Half-widths, shape (n,); 0 where the solid is not.
    """

    along_mm: Floats
    distal_mm: Floats
    buccal_mm: Floats
    half_distal_mm: Floats
    half_buccal_mm: Floats

    def grown(self, by_mm: float, *, beyond_mm: float) -> Solid:
        """The part beyond a place along the tooth, wider by `by_mm` all round and at its end."""
        step = self.along_mm[1] - self.along_mm[0]
        more = int(np.ceil(by_mm / step))
        along = self.along_mm[0] + step * np.arange(len(self.along_mm) + more)
        beyond = np.clip(along - beyond_mm, 0.0, None) > 0
        # Moved on by what it grows, so that the ligament goes round the end of the root.
        back = np.clip(np.arange(len(along)) - more, 0, None)
        here = np.minimum(np.arange(len(along)), len(self.along_mm) - 1)

        def wider(half: Floats) -> Floats:
            padded = np.concatenate([half, np.zeros(more)])
            there = np.maximum(padded + by_mm * (padded > 0), padded[back])
            return np.where(beyond, there, 0.0)

        return Solid(
            along,
            self.distal_mm[here],
            self.buccal_mm[here],
            wider(self.half_distal_mm),
            wider(self.half_buccal_mm),
        )


@dataclass(frozen=True)
class Receptor:
    """The pixels of a receptor; the middle of the picture lies at `centre_mm` of the plane.

    Examples
    --------
    >>> Receptor(31.0, 41.0, 0.13).shape
    (315, 238)
    """

    width_mm: float
    height_mm: float
    pixel_mm: float
    centre_mm: tuple[float, float] = (0.0, 0.0)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return round(self.height_mm / self.pixel_mm), round(self.width_mm / self.pixel_mm)

    @property
    def rows_mm(self) -> Floats:
        """Places of the rows' middles along y (mm), growing towards the apex."""
        return self._middles(self.shape[0], self.centre_mm[1])

    @property
    def columns_mm(self) -> Floats:
        """Places of the columns' middles along x (mm), growing distally."""
        return self._middles(self.shape[1], self.centre_mm[0])

    def _middles(self, count: int, centre: float) -> Floats:
        return np.asarray(centre + self.pixel_mm * (np.arange(count) - (count - 1) / 2))


def path_length_mm(solid: Solid, view: View, receptor: Receptor, *, layers: int) -> Floats:
    """Length of each pixel's ray inside a solid (mm), shape (rows, columns).

    Parameters
    ----------
    layers
        How many layers the solid's depth at each row is cut into, 1 or more.

    Raises
    ------
    ValueError
        No layers, or rays that run along the tooth: they would come back through its layers.

    Examples
    --------
    >>> along = np.linspace(0.0, 20.0, 201)
    >>> rod = Solid(along, 0 * along, 0 * along, 0 * along + 3.0, 0 * along + 2.0)
    >>> seen = path_length_mm(rod, View(4e5, 20.0, pivot_mm=10.0), Receptor(10.0, 8.0, 0.2),
    ...                       layers=200)
    >>> float(seen[20, 25])  # through the middle: twice the half-width
    4.0
    """
    if layers < 1:
        raise ValueError(f"field layers: got {layers}; allowed is 1 or more; 40 suit a slider")
    count_columns = receptor.shape[1]
    found = np.zeros(receptor.shape)
    rows, buccal, heights, step = _layers(solid, view, receptor, layers)
    lean = np.radians(view.axis_deg)
    source, far = view.source_mm, heights / view.focus_receptor_mm
    y = receptor.rows_mm[rows, None] * (1 - far) + source[1] * far
    along = view.pivot_mm + y * np.cos(lean) + (heights - view.tooth_receptor_mm) * np.sin(lean)
    spacing = solid.along_mm[1] - solid.along_mm[0]
    place = (along - solid.along_mm[0]) / spacing
    row, layer = np.nonzero((place >= 0) & (place < len(solid.along_mm) - 1))
    place = place[row, layer]
    at = place.astype(np.intp)
    part = place - at

    def here(values: Floats) -> Floats:
        return np.asarray(values[at] + part * (values[at + 1] - values[at]))

    half_buccal = here(solid.half_buccal_mm)
    offset = buccal[row, layer] - here(solid.buccal_mm)
    inside = np.abs(offset) < half_buccal
    row, layer, at, part = row[inside], layer[inside], at[inside], part[inside]
    if not len(row):
        return found
    half = here(solid.half_distal_mm) * np.sqrt(1 - (offset[inside] / half_buccal[inside]) ** 2)
    middle = here(solid.distal_mm)
    grown = 1 / (1 - far[row, layer])
    origin = receptor.columns_mm[0] - receptor.pixel_mm / 2
    ends = [
        (source[0] + (edge - source[0]) * grown - origin) / receptor.pixel_mm
        for edge in (middle - half, middle + half)
    ]
    # Most of a receptor is beside the tooth: only the rectangle around it is worked on.
    first = max(int(ends[0].min()), 0), min(int(ends[1].max()) + 1, count_columns)
    if first[0] >= first[1]:
        return found
    columns, lines = slice(*first), slice(int(rows[row.min()]), int(rows[row.max()]) + 1)
    left, right = (edge - first[0] for edge in ends)
    shape = lines.stop - lines.start, columns.stop - columns.start
    covered = _filled(rows[row] - lines.start, left, right, step[row], shape)
    found[lines, columns] = covered * _slant(view, receptor, lines, columns)
    return found


def _layers(
    solid: Solid, view: View, receptor: Receptor, layers: int
) -> tuple[npt.NDArray[np.intp], Floats, Floats, Floats]:
    """Cut the depth that each row's rays may have in the solid into equal layers.

    Gives the rows that meet it, the layers' places (mm) across the tooth and above the receptor,
    both of shape (rows, layers), and their thickness above the receptor (mm), of shape (rows,).
    """
    lean = np.radians(view.axis_deg)
    sine, cosine = np.sin(lean), np.cos(lean)
    y, tilt = receptor.rows_mm, (view.source_mm[1] - receptor.rows_mm) / view.focus_receptor_mm
    # A ray at height z is z * climb - start across the tooth: where it meets the axis, 0.
    climb = cosine - tilt * sine
    if climb.min() <= 0:
        raise ValueError(
            f"field axis_deg/beam_deg: got {view.axis_deg:g} and {view.beam_deg:g}; allowed are "
            "angles less than 90 degrees apart for every ray on the receptor; turn the beam "
            "towards square to the tooth"
        )
    start = view.tooth_receptor_mm * cosine + y * sine
    at_axis = start / climb
    along = view.pivot_mm + (y + tilt * at_axis) * cosine
    along += (at_axis - view.tooth_receptor_mm) * sine
    outer = [solid.buccal_mm + side * solid.half_buccal_mm for side in (-1.0, 1.0)]
    reach = float(np.abs(outer).max()) * float(np.abs((tilt * cosine + sine) / climb).max())
    spacing = solid.along_mm[1] - solid.along_mm[0]
    window = 2 * int(np.ceil(reach / spacing)) + 3
    lowest = minimum_filter1d(outer[0], window, mode="nearest")
    highest = maximum_filter1d(outer[1], window, mode="nearest")
    first, last = solid.along_mm[0] - reach, solid.along_mm[-1] + reach
    rows = np.nonzero((along >= first) & (along <= last))[0]
    at = np.clip((along[rows] - solid.along_mm[0]) / spacing, 0, len(solid.along_mm) - 1)
    low, high = lowest[at.astype(np.intp)], highest[at.astype(np.intp)]
    share = (np.arange(layers) + 0.5) / layers
    buccal = low[:, None] + (high - low)[:, None] * share
    heights = (buccal + start[rows, None]) / climb[rows, None]
    return rows, buccal, heights, (high - low) / layers / climb[rows]


def _filled(
    row: npt.NDArray[np.intp], left: Floats, right: Floats, weight: Floats, shape: tuple[int, int]
) -> Floats:
    """Add up weighted intervals, row by row; a pixel that is half covered gets a half."""
    rows, columns = shape
    width = columns + 2
    cells: list[Floats] = []
    weights: list[Floats] = []
    for edge, signed in ((left, weight), (right, -weight)):
        held = np.clip(edge, 0.0, columns)
        first = held.astype(np.intp)
        part = held - first
        cell = row * width + first
        cells += [cell, cell + 1]
        weights += [signed * (1 - part), signed * part]
    steps = np.bincount(
        np.concatenate(cells), weights=np.concatenate(weights), minlength=rows * width
    )
    return np.asarray(np.cumsum(steps.reshape(rows, width), axis=1)[:, :columns])


def _slant(view: View, receptor: Receptor, rows: slice, columns: slice) -> Floats:
    """Length of a pixel's ray for each millimetre of height, shape (rows, columns)."""
    source = view.source_mm
    x = (source[0] - receptor.columns_mm[columns]) / source[2]
    y = (source[1] - receptor.rows_mm[rows]) / source[2]
    return np.asarray(np.sqrt(1 + y[:, None] ** 2 + x[None, :] ** 2))
