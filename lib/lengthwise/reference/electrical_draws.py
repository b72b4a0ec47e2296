"""What makes readings and was never measured, as draws of a calibration; and its median canal.

One draw is one patient's tooth, tissue and file that behave as published readings do. Draws are
equally likely. `datasets/meter_calibration.md` says what they meet, what they miss, and by how
much.
"""

from dataclasses import dataclass, fields
from functools import cache

from lengthwise.reference.files import read_rows


@dataclass(frozen=True)
class ElectricalDraw:
    """One draw of the parameters that nobody measured.

    Attributes
    ----------
    tissue_ohm_m, dentine_ohm_m, dentine_permittivity
        Resistivities (ohm m) and relative permittivity.
    cementum_ohm_m2, cementum_f_per_m2
        Resistance and capacitance of an area of cementum.
    interface_s_per_m2, interface_alpha
        Factor Q and exponent of the file's constant-phase element.
    body_ohm
        Body and mucosal electrode.
    least_gap_mm, film_mm
        Liquid around a file that touches the wall, and left on the wall of a dried canal.
    hypochlorite_ohm_m
        Resistivity of hypochlorite of 5 to 6 %.
    contact_ohm, contact_mm2
        A small metal contact: resistance in its liquid, and area of metal.
    """

    tissue_ohm_m: float
    dentine_ohm_m: float
    dentine_permittivity: float
    cementum_ohm_m2: float
    cementum_f_per_m2: float
    interface_s_per_m2: float
    interface_alpha: float
    body_ohm: float
    least_gap_mm: float
    film_mm: float
    hypochlorite_ohm_m: float
    contact_ohm: float
    contact_mm2: float


@dataclass(frozen=True)
class CanalPlace:
    """Diameters (mm) of canal and root at a height (mm) above the foramen."""

    id: str
    height_mm: float
    canal_diameter_mm: float
    root_diameter_mm: float


@cache
def electrical_draws() -> tuple[ElectricalDraw, ...]:
    """All draws of the calibration, equally likely.

    Examples
    --------
    >>> draws = electrical_draws()
    >>> len(draws), all(100 <= draw.dentine_ohm_m <= 10_000 for draw in draws)
    (64, True)
    """
    names = [field.name for field in fields(ElectricalDraw)]
    return tuple(
        ElectricalDraw(**{name: float(row[name]) for name in names})
        for row in read_rows("meter_parameters")
    )


@cache
def median_canal() -> tuple[CanalPlace, ...]:
    """The population's median canal, from the foramen up to the orifice.

    Examples
    --------
    >>> [(place.id, place.canal_diameter_mm) for place in median_canal()[:2]]
    [('foramen', 0.587), ('constriction', 0.238)]
    """
    return tuple(
        CanalPlace(
            row["id"],
            float(row["height_mm"]),
            float(row["canal_diameter_mm"]),
            float(row["root_diameter_mm"]),
        )
        for row in read_rows("meter_canal")
    )
