"""Quotients of every canal on a grid of places, worked out once for a reading's conditions."""

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from lengthwise.physics.impedance import furthest_past_mm, impedance_ohm, quotient
from lengthwise.physics.line import File, Filling, Floats, LineShape, Materials
from lengthwise.physics.rows import interp_rows
from lengthwise.reference import meter as m

from .meter_conditions import ReadingConditions

Flags = npt.NDArray[np.bool_]
Part = TypeVar("Part", LineShape, File, Filling, Materials)

PLACES_MM: Floats = np.concatenate(
    [
        [-40.0, -30.0, -20.0, -15.0, -12.0, -10.0, -8.0, -6.5, -5.5, -4.7, -4.0, -3.4, -2.9, -2.4],
        [-2.0, -1.7],
        np.arange(-1.5, 0.61, 0.15),
        [0.8, 1.0, 1.4, 2.0, 3.0, 5.0, 8.0, 40.0],
    ]
)
"""Past the foramen; dense around the ramp. Turned into a length there, a straight line between them
is off by less than 0.02 mm in 95 of 100 places; by more, up to 0.7 mm, where the tip passes the
surface in a dried canal."""

CELLS = 72
"""Of the line: 99 in 100 quotients in the conditions that are drawn are within 0.001 of those of
finer ones, within 0.003 in shaped canals, less than the display's noise."""


@dataclass(frozen=True, eq=False)
class QuotientGrid:
    """Quotients (n, places) at `past_mm` (n, places); NaN where nothing would be shown.

    `thin` and `thick` with the least and most film that a loose file meets, `touched` with the
    metal contact.
    """

    past_mm: Floats
    thin: Floats
    thick: Floats
    touched: Floats

    def along(self, past_mm: Floats, loose: Floats, touched: Flags) -> Floats:
        """Quotients on a path (n, samples): `loose` from 0 (thin) to 1 (thick)."""
        weight = np.where(touched, 0.0, loose)
        thin, thick, metal = interp_rows(
            past_mm, np.arange(len(past_mm))[:, None], self.past_mm, self.thin, self.thick,
            self.touched,
        )  # fmt: skip
        return np.where(touched, metal, (1 - weight) * thin + weight * thick)


def quotient_grid(
    shape: LineShape,
    file: File,
    conditions: ReadingConditions,
    usual: Materials,
    path_mm: Floats,
    touched: Flags,
) -> QuotientGrid:
    """The grid that a path (mm past the foramen, (n, samples), NaN allowed) needs.

    `touched` (n, samples) says when the metal contact is made.
    """
    low, high = float(np.nanmin(path_mm)), float(np.nanmax(path_mm))
    first = max(int(np.searchsorted(PLACES_MM, low, side="right")) - 1, 0)
    last = int(np.searchsorted(PLACES_MM, high)) + 1
    furthest = furthest_past_mm(shape, file)[:, None]
    past = np.clip(PLACES_MM[first:last], -shape.orifice_mm[:, None], furthest)
    materials = conditions.materials(usual)

    def shown(which: Flags, filling: Filling) -> Floats:
        rows = np.flatnonzero(which)
        z = impedance_ohm(
            _rows(shape, rows), _rows(file, rows), _rows(filling, rows), _rows(materials, rows),
            past[rows], cells=CELLS,
        )  # fmt: skip
        return np.where(np.abs(z[..., 0]) > m.LOST_ABOVE_OHM.value, np.nan, quotient(z))

    everyone = np.ones(len(shape), dtype=np.bool_)
    swing = np.asarray(conditions.swing)
    # A film that is nowhere above the liquid changes nothing.
    matters = (swing > 0) & (np.asarray(conditions.level_mm) < shape.orifice_mm)
    thin = shown(everyone, conditions.filling(swing=-np.where(matters, swing, 0.0)))
    thick, metal = thin.copy(), thin.copy()
    if matters.any():
        thick[matters] = shown(matters, conditions.filling(swing=swing))
    ever = np.asarray(touched.any(axis=1))
    if ever.any():
        metal[ever] = shown(ever, conditions.filling(touched=True))
    return QuotientGrid(past, thin, thick, metal)


def _rows(part: Part, rows: npt.NDArray[np.intp]) -> Part:
    """Some canals' rows of a part; numbers that hold for all stay as they are."""
    values = {name: np.asarray(value) for name, value in vars(part).items()}
    return type(part)(**{k: v[rows] if v.ndim and len(v) > 1 else v for k, v in values.items()})
