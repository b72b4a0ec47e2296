"""What a reading's circuit consists of: the canal's shape, the file, the filling, the materials.

Every number of a file, a filling or materials may be one for all or an array (n,) with one for each
canal; those of a filling and of materials also an array (n, t) with one for each position of the
tip (n or t may be 1). A canal has one file, whatever its position.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lengthwise.reference import electrical as e

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LineShape:
    """Canals as round tubes in round roots, from the foramen up to the orifice.

    Straight lines are drawn between the given places.

    Attributes
    ----------
    height_mm
        Places above the foramen (mm), shape (n, k); each row grows from 0 to the orifice.
    radius_mm
        Radius (mm) of the circle with the canal's area there, shape (n, k).
    outer_radius_mm
        Radius (mm) of the circle with the root's area there, shape (n, k).

    Raises
    ------
    ValueError
        Shapes that differ, places that do not grow from 0, or a root not wider than its canal.

    Examples
    --------
    >>> tube = LineShape(np.array([[0.0, 15.0]]), np.full((1, 2), 0.2), np.full((1, 2), 2.0))
    >>> len(tube), tube.orifice_mm.tolist()
    (1, [15.0])
    """

    height_mm: Floats
    radius_mm: Floats
    outer_radius_mm: Floats

    def __post_init__(self) -> None:
        for name in ("height_mm", "radius_mm", "outer_radius_mm"):
            object.__setattr__(self, name, np.asarray(getattr(self, name), dtype=np.float64))
        shapes = [v.shape for v in (self.height_mm, self.radius_mm, self.outer_radius_mm)]
        if len(set(shapes)) != 1 or len(shapes[0]) != 2 or shapes[0][1] < 2:
            raise ValueError(
                f"field height_mm/radius_mm/outer_radius_mm: got shapes {shapes}; allowed is one "
                "shape (canals, places) for all three, with 2 or more places; one row a canal"
            )
        if np.any(self.height_mm[:, 0] != 0) or not np.all(np.diff(self.height_mm, axis=1) >= 0):
            raise ValueError(
                "field height_mm: a row does not grow from 0; allowed are places in mm above the "
                "foramen, foramen first, orifice last; sort them"
            )
        if not np.all(self.height_mm[:, -1] > 0):
            raise ValueError(
                "field height_mm: a row ends at 0; allowed is an orifice above the foramen; give "
                "the canal a length"
            )
        if not (np.all(self.radius_mm > 0) and np.all(self.outer_radius_mm > self.radius_mm)):
            raise ValueError(
                "field radius_mm/outer_radius_mm: got a canal without width or a root no wider "
                "than its canal; allowed is 0 < radius < outer radius everywhere; mend the profile"
            )

    def __len__(self) -> int:
        return len(self.height_mm)

    @property
    def orifice_mm(self) -> Floats:
        """Height (mm) of the orifice, (n,)."""
        return self.height_mm[:, -1]

    @property
    def narrowest_mm(self) -> Floats:
        """Height (mm) of the narrowest place, the constriction, (n,)."""
        rows = np.arange(len(self))
        return np.asarray(self.height_mm[rows, self.radius_mm.argmin(axis=1)])


@dataclass(frozen=True, eq=False)
class File:
    """A metal file: diameter at its tip (mm) and taper (mm of diameter per mm).

    Examples
    --------
    >>> File(0.15).taper
    0.02
    """

    tip_diameter_mm: npt.ArrayLike
    taper: npt.ArrayLike = 0.02

    def __post_init__(self) -> None:
        _positive("tip_diameter_mm", self.tip_diameter_mm, "such as 0.15 for size 15")
        _positive("taper", self.taper, "such as 0.02", zero=True)


@dataclass(frozen=True, eq=False)
class Filling:
    """What the canal holds, and what connects past it.

    Attributes
    ----------
    liquid_ohm_m
        Resistivity of the liquid (ohm m).
    level_mm
        Liquid stands up to this height (mm) above the foramen; infinite in a full canal, 0 in a
        dry one. Above it a film is left on the wall.
    film_mm
        Thickness (mm) of that film.
    flooded_ohm
        From the liquid at the orifice to the tissue; infinite with a dry chamber.
    contact_ohm, contact_mm2
        From the file past the canal to the tissue: a resistance (infinite without contact), and
        in series with it the interface of that much metal (infinite for a bare resistance).

    Examples
    --------
    >>> Filling(0.56).flooded_ohm
    inf
    """

    liquid_ohm_m: npt.ArrayLike
    level_mm: npt.ArrayLike = np.inf
    film_mm: npt.ArrayLike = e.FILM_MM.value
    flooded_ohm: npt.ArrayLike = np.inf
    contact_ohm: npt.ArrayLike = np.inf
    contact_mm2: npt.ArrayLike = np.inf

    def __post_init__(self) -> None:
        _positive("liquid_ohm_m", self.liquid_ohm_m, "such as 0.56 for saline")
        _positive("level_mm", self.level_mm, "0 for a dry canal", zero=True)
        _positive("film_mm", self.film_mm, "such as 0.01: no canal dries completely")
        _positive("flooded_ohm", self.flooded_ohm, "infinite when the chamber is dry")
        _positive("contact_ohm", self.contact_ohm, "infinite without contact")
        _positive("contact_mm2", self.contact_mm2, "infinite for a bare resistance")


@dataclass(frozen=True, eq=False)
class Materials:
    """Tissue, wall, interface and body; by default the middle of what is thought possible.

    Attributes
    ----------
    tissue_ohm_m, dentine_ohm_m, dentine_permittivity
        Resistivities (ohm m) and relative permittivity.
    cementum_ohm_m2, cementum_f_per_m2
        Resistance and capacitance of an area of cementum.
    interface_s_per_m2, interface_alpha
        Q and alpha of the file's constant-phase element: admittance Q (j omega)^alpha an area.
    body_ohm
        Body and mucosal electrode, in series with everything.
    least_gap_mm
        Liquid around a file that touches the wall.

    Examples
    --------
    >>> Materials(dentine_ohm_m=2000.0).interface_alpha
    0.87
    """

    tissue_ohm_m: npt.ArrayLike = e.TISSUE_OHM_M.value
    dentine_ohm_m: npt.ArrayLike = e.DENTINE_OHM_M.value
    dentine_permittivity: npt.ArrayLike = e.DENTINE_PERMITTIVITY.value
    cementum_ohm_m2: npt.ArrayLike = e.CEMENTUM_OHM_M2.value
    cementum_f_per_m2: npt.ArrayLike = e.CEMENTUM_F_PER_M2.value
    interface_s_per_m2: npt.ArrayLike = e.INTERFACE_S_PER_M2.value
    interface_alpha: npt.ArrayLike = e.INTERFACE_ALPHA.value
    body_ohm: npt.ArrayLike = e.BODY_OHM.value
    least_gap_mm: npt.ArrayLike = e.LEAST_GAP_MM.value

    def __post_init__(self) -> None:
        for name in (
            "tissue_ohm_m", "dentine_ohm_m", "cementum_ohm_m2", "interface_s_per_m2",
            "interface_alpha", "least_gap_mm",
        ):  # fmt: skip
            _positive(name, getattr(self, name), "see the ranges in lengthwise.reference")
        for name in ("dentine_permittivity", "cementum_f_per_m2", "body_ohm"):
            _positive(name, getattr(self, name), "0 leaves it out", zero=True)
        if np.any(np.asarray(self.interface_alpha) > 1):
            raise ValueError(
                f"field interface_alpha: got {np.max(self.interface_alpha):g}; allowed is above 0 "
                "to 1, where it is a capacitor; see its range in lengthwise.reference"
            )


def _positive(name: str, value: npt.ArrayLike, such: str, *, zero: bool = False) -> None:
    array = np.asarray(value, dtype=np.float64)
    if np.any(array < 0 if zero else array <= 0) or np.any(np.isnan(array)):
        raise ValueError(
            f"field {name}: got {array.min():g}; allowed is a number "
            f"{'not below' if zero else 'above'} 0, {such}; the unit is in the name"
        )
