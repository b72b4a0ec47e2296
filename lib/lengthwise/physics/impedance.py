"""Impedance between a file in a root canal and the patient: the canal as a leaky line.

The file is a metal in an electrolyte inside a wall that conducts poorly, with tissue outside. With
the file at potential 1 and the tissue at 0 the electrolyte's potential obeys

    d/dz( (1/r_e) dφ/dz ) = y_f (φ - 1) + y_w φ

on one line from the orifice through the foramen into the tissue. r_e is the resistance of the
electrolyte between wall and file, y_f the interface of the file (a constant-phase element), y_w
dentine in series with cementum, all for a length of the line. Apical of the tip there is no y_f.
Beyond the foramen the line goes on as hemispheres of area 2π(s + 2r/π)², whose total resistance is
that of a disc, ρ/(4r).

References
----------
.. [1] de Levie 1963, Electrochim. Acta 8:751: a pore as a line of electrolyte and interface.
.. [2] Newman 1966, J. Electrochem. Soc. 113:501: resistance ρ/(4r) of a disc.
"""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from lengthwise.reference import electrical as e

from .line import File, Filling, Floats, LineShape, Materials
from .line_cells import cut, parts
from .line_ladder import admittance, ladder
from .line_tips import Complexes, Tips, per_tip, tips_of

CELLS = 120
"""Of the line. More of them change the quotient of a median canal by less than 1e-4 when it is full
and by less than 2e-4 with a surface in it, whether its chamber is dry or flooded; in drawn canals
99 in 100 quotients by about 1e-3 at most."""

FEWEST_CELLS = 24
"""With fewer, half of them would be too coarse for their difference to tell anything."""

METER_HZ: Floats = np.array([e.LOW_HZ.value, e.HIGH_HZ.value])
"""The two frequencies whose magnitudes are compared."""

_ROUNDING_MM = 1e-9
_AT_ONCE = 500  # tips: few enough for their numbers to stay close to the processor


def impedance_ohm(
    shape: LineShape,
    file: File,
    filling: Filling,
    materials: Materials,
    tip_past_mm: npt.ArrayLike,
    frequency_hz: npt.ArrayLike = METER_HZ,
    *,
    cells: int = CELLS,
) -> Complexes:
    """Impedance (ohm) that a meter between file and mucosa sees.

    Parameters
    ----------
    shape : LineShape
        n canals.
    file, filling, materials
        What stands in them, what they hold, and of what everything is made.
    tip_past_mm : array_like
        Tip past the foramen (mm), negative short of it: one number, (t,) for all canals, or (n, t).
        NaN gives NaN.
    frequency_hz : array_like
        Frequencies (Hz), (f,), above 0.
    cells : int
        How finely the line is cut, `FEWEST_CELLS` or more; a number that cannot be shared out
        evenly is rounded down (24 and its multiples can).

    Returns
    -------
    array
        Complex, (n, t, f).

    Raises
    ------
    ValueError
        A tip above the orifice, or further than `furthest_past_mm`; shapes that do not fit; too
        few cells.

    Examples
    --------
    >>> tube = LineShape(np.array([[0.0, 15.0]]), np.array([[0.15, 0.4]]), np.full((1, 2), 2.0))
    >>> z = impedance_ohm(tube, File(0.15), Filling(0.56), Materials(), [-3.0, 0.0])
    >>> z.shape, (np.abs(z[0, :, 0]) > 1000).tolist()
    ((1, 2, 2), [True, True])
    """
    past = _positions(shape, file, tip_past_mm)
    missing = np.isnan(past)
    past = np.where(missing, -shape.orifice_mm[:, None], past)
    hertz = np.atleast_1d(np.asarray(frequency_hz, dtype=np.float64))
    if hertz.ndim != 1 or not np.all(hertz > 0):
        raise ValueError(
            f"field frequency_hz: got {hertz.tolist()}; allowed is a list of numbers above 0 Hz; "
            "leave it out for those of the meter"
        )
    if cells < FEWEST_CELLS:
        raise ValueError(
            f"field cells: got {cells}; allowed is {FEWEST_CELLS} or more; {CELLS} suit a curve"
        )
    tips = tips_of(shape, file, filling, materials, past, 2 * np.pi * hertz)
    line = np.empty((len(hertz), past.size), dtype=np.complex128)
    for some in _alike(tips):
        few = tips.part(some)
        half = cells // (2 * int(parts(few).sum()))
        fine, coarse = (admittance(ladder(few, cut(shape, few, m))) for m in (2 * half, half))
        # The error goes with the square of the cells' length: their difference tells the rest.
        line[:, some] = fine + (fine - coarse) / 3
    contact, metal, body = (
        per_tip(value, past.shape, name)
        for value, name in (
            (filling.contact_ohm, "contact_ohm"),
            (filling.contact_mm2, "contact_mm2"),
            (materials.body_ohm, "body_ohm"),
        )
    )
    # Written so that an infinite resistance or area is an ordinary zero.
    leads = 1 / contact
    beside = leads / (1 + leads / metal / tips.interface_per_mm2)
    z = (body + 1 / (line + beside)).reshape(len(hertz), *past.shape)
    return np.moveaxis(np.where(missing, np.nan, z), 0, -1)


def quotient(z_ohm: Complexes) -> Floats:
    """Magnitude at the last frequency over that at the first: (n, t, f) to (n, t)."""
    return np.asarray(np.abs(z_ohm[..., -1]) / np.abs(z_ohm[..., 0]))


def furthest_past_mm(shape: LineShape, file: File) -> Floats:
    """How far past the foramen (mm) a file can go before it binds, (n,); infinite if it does not.

    Negative short of the foramen. A file binds where any part of it is as wide as the canal.

    Examples
    --------
    >>> tube = LineShape(np.array([[0.0, 15.0]]), np.array([[0.15, 0.4]]), np.full((1, 2), 2.0))
    >>> furthest_past_mm(tube, File(0.2, 0.0)), furthest_past_mm(tube, File(0.35, 0.0))
    (array([inf]), array([-1.5]))
    """
    n = (len(shape), 1)
    tip = per_tip(file.tip_diameter_mm, n, "tip_diameter_mm")[:, None] / 2
    widening = per_tip(file.taper, n, "taper")[:, None] / 2
    room = shape.radius_mm - tip
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        # Its side is as wide as the canal here when the tip is so much further; and its tip
        # meets a canal that narrows below it here.
        side = shape.height_mm - room / widening
        share = -room[:, :-1] / np.diff(room, axis=1)
        face = shape.height_mm[:, :-1] + share * np.diff(shape.height_mm, axis=1)
    side = np.where((room >= 0) & (widening > 0), side, -np.inf)
    face = np.where((room[:, :-1] < 0) & (room[:, 1:] >= 0), face, -np.inf)
    stops = np.maximum(side.max(axis=1), face.max(axis=1))
    return -np.where(room[:, -1] < 0, np.inf, stops)


def _alike(tips: Tips) -> Iterator[npt.NDArray[np.intp]]:
    """Tips that are cut into the same cells, a few at a time.

    A surface inside the canal takes cells from the rest of the line. Full canals are kept apart
    from such ones, so that what a canal's impedance is does not hang on its neighbours.
    """
    lowered = tips.level_mm < tips.orifice_mm
    for alike in (np.flatnonzero(lowered), np.flatnonzero(~lowered)):
        for begin in range(0, alike.size, _AT_ONCE):
            yield alike[begin : begin + _AT_ONCE]


def _positions(shape: LineShape, file: File, tip_past_mm: npt.ArrayLike) -> Floats:
    """Tips as (n, t), all of them possible."""
    past = np.atleast_2d(np.asarray(tip_past_mm, dtype=np.float64))
    if past.ndim != 2 or past.shape[0] not in (1, len(shape)):
        raise ValueError(
            f"field tip_past_mm: got shape {past.shape} for {len(shape)} canals; allowed is one "
            "number, (tips,) or (canals, tips); match the canals"
        )
    past = np.broadcast_to(past, (len(shape), past.shape[1]))
    outermost, innermost = -shape.orifice_mm[:, None], furthest_past_mm(shape, file)[:, None]
    wrong = (past < outermost) | (past > innermost + _ROUNDING_MM)
    if np.any(wrong):
        i, j = np.argwhere(wrong)[0]
        raise ValueError(
            f"field tip_past_mm: got {past[i, j]:g} for canal {i}; "
            f"{_where_allowed(outermost[i, 0], innermost[i, 0])}"
        )
    return past


def _where_allowed(orifice_mm: float, binds_mm: float) -> str:
    if binds_mm < orifice_mm:
        return "allowed is no place in this canal: the file binds at once; take a thinner one"
    begins = f"allowed is {orifice_mm:g} (at the orifice)"
    if np.isinf(binds_mm):
        return f"{begins} or more; hold the file inside the canal"
    return (
        f"{begins} to {binds_mm:g} (the file binds there); hold the file between them, or take a "
        "thinner one"
    )
