"""Every tip with its canal, file, filling and materials, as flat arrays in millimetres."""

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from lengthwise.reference.electrical import VACUUM_F_PER_M

from .line import File, Filling, Floats, LineShape, Materials

Complexes = npt.NDArray[np.complex128]

MM_PER_M = 1e3
MM2_PER_M2 = 1e6


@dataclass(frozen=True, eq=False)
class Tips:
    """N tips; arrays (N,), but for the last three, which are complex (f, N).

    Attributes
    ----------
    canal
        Row of the shape in which a tip stands.
    tip_mm, orifice_mm, constriction_mm, level_mm
        Heights above the foramen.
    tip_radius_mm, widening, foramen_radius_mm, film_mm, gap_mm
        Of the file at its tip and by length, of the foramen, and thicknesses of liquid.
    liquid_ohm_mm, tissue_ohm_mm, flooded_siemens
        Resistivities, and what leads from the liquid at the orifice to the tissue.
    interface_per_mm2, cementum_per_mm2, dentine_per_mm
        Admittance (S) of an area of interface and cementum and of a length of dentine, (f, N).
    """

    canal: npt.NDArray[np.intp]
    tip_mm: Floats
    orifice_mm: Floats
    constriction_mm: Floats
    level_mm: Floats
    tip_radius_mm: Floats
    widening: Floats
    foramen_radius_mm: Floats
    film_mm: Floats
    gap_mm: Floats
    liquid_ohm_mm: Floats
    tissue_ohm_mm: Floats
    flooded_siemens: Floats
    interface_per_mm2: Complexes
    cementum_per_mm2: Complexes
    dentine_per_mm: Complexes

    def part(self, some: npt.NDArray[np.intp]) -> "Tips":
        """Some of the tips."""
        # Not by an index: that would lay out the rows by columns, and all that follows is slower.
        return Tips(**{f.name: np.take(getattr(self, f.name), some, axis=-1) for f in fields(self)})


def tips_of(
    shape: LineShape,
    file: File,
    filling: Filling,
    materials: Materials,
    tip_past_mm: Floats,
    omega: Floats,
) -> Tips:
    """Tips at `tip_past_mm` (n, t) and angular frequencies `omega` (f,); N is n times t.

    Raises
    ------
    ValueError
        A value with neither one number, nor one for each canal, nor one for each tip.
    """

    def own(value: npt.ArrayLike, name: str) -> Floats:
        return per_tip(value, tip_past_mm.shape, name)

    def of(part: File | Filling | Materials, name: str) -> Floats:
        return own(getattr(part, name), name)

    jw = 1j * omega[:, None]
    interface = of(materials, "interface_s_per_m2") * jw ** of(materials, "interface_alpha")
    cementum = 1 / of(materials, "cementum_ohm_m2") + jw * of(materials, "cementum_f_per_m2")
    permittivity = of(materials, "dentine_permittivity") * VACUUM_F_PER_M.value
    dentine = 1 / of(materials, "dentine_ohm_m") + jw * permittivity
    return Tips(
        canal=np.repeat(np.arange(len(shape)), tip_past_mm.shape[1]),
        tip_mm=-tip_past_mm.ravel(),
        orifice_mm=own(shape.orifice_mm, "orifice_mm"),
        constriction_mm=own(shape.narrowest_mm, "narrowest_mm"),
        level_mm=of(filling, "level_mm"),
        tip_radius_mm=of(file, "tip_diameter_mm") / 2,
        widening=of(file, "taper") / 2,
        foramen_radius_mm=own(shape.radius_mm[:, 0], "radius_mm"),
        film_mm=of(filling, "film_mm"),
        gap_mm=of(materials, "least_gap_mm"),
        liquid_ohm_mm=of(filling, "liquid_ohm_m") * MM_PER_M,
        tissue_ohm_mm=of(materials, "tissue_ohm_m") * MM_PER_M,
        flooded_siemens=1 / of(filling, "flooded_ohm"),
        interface_per_mm2=np.asarray(interface / MM2_PER_M2, dtype=np.complex128),
        cementum_per_mm2=np.asarray(cementum / MM2_PER_M2, dtype=np.complex128),
        dentine_per_mm=np.asarray(dentine / MM_PER_M, dtype=np.complex128),
    )


def per_tip(value: npt.ArrayLike, shape: tuple[int, ...], name: str) -> Floats:
    """A number, one for each canal or one for each tip, as a flat array over canals and tips.

    Examples
    --------
    >>> per_tip([1.0, 2.0], (2, 3), "body_ohm").tolist()
    [1.0, 1.0, 1.0, 2.0, 2.0, 2.0]
    """
    array = np.asarray(value, dtype=np.float64)
    column = array[:, None] if array.ndim == 1 else array
    try:
        return np.broadcast_to(column, shape).ravel()
    except ValueError:
        raise ValueError(
            f"field {name}: got shape {array.shape} for {shape[0]} canals and {shape[1]} tips; "
            "allowed is one number, one for each canal, or (canals, tips); match the canals"
        ) from None
