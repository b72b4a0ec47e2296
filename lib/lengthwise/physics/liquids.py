"""Liquids that a paper point may meet, and how much faster or slower than water they wick."""

from dataclasses import dataclass
from math import isclose

import numpy as np

from lengthwise.reference.files import Row, read_rows

BODY_C = 37.0


@dataclass(frozen=True)
class Liquid:
    """Surface tension (mN/m) against air and dynamic viscosity (mPa s), with their source."""

    name: str
    temperature_c: float
    surface_tension_mn_per_m: float
    viscosity_mpa_s: float
    source: str
    status: str


def liquid(name: str, *, temperature_c: float = BODY_C, shear_per_s: float = 100.0) -> Liquid:
    """A liquid from the table.

    Parameters
    ----------
    name : str
        ``"water"``, ``"blood"`` or ``"serum"``.
    temperature_c : float
        One of the table's temperatures (degree Celsius); blood and serum stand there at 37.
    shear_per_s : float
        One of the table's shear rates (1/s); asked of blood only.

    Raises
    ------
    ValueError
        Not in the table.

    Examples
    --------
    >>> liquid("blood").surface_tension_mn_per_m, liquid("blood", shear_per_s=1).viscosity_mpa_s
    (52.604, 5.46)
    """
    rows = [r for r in read_rows("liquids") if r["liquid"] == name]
    here = [r for r in rows if isclose(float(r["temperature_c"]), temperature_c)]
    tension = [r for r in here if r["surface_tension_mn_per_m"]]
    viscosity = [
        r
        for r in here
        if r["viscosity_mpa_s"]
        and (not r["shear_per_s"] or isclose(float(r["shear_per_s"]), shear_per_s))
    ]
    if not tension or not viscosity:
        raise ValueError(
            f"field name: got {name!r} at {temperature_c:g} C and {shear_per_s:g} 1/s; allowed are "
            f"{', '.join(_described(r) for r in read_rows('liquids') if r['viscosity_mpa_s'])}; "
            "choose one of them"
        )
    sources = dict.fromkeys(r["source"] for r in (tension[0], viscosity[0]))
    return Liquid(
        name,
        temperature_c,
        float(tension[0]["surface_tension_mn_per_m"]),
        float(viscosity[0]["viscosity_mpa_s"]),
        "; ".join(sources),
        viscosity[0]["status"],
    )


def _described(row: Row) -> str:
    shear = f" and {row['shear_per_s']} 1/s" if row["shear_per_s"] else ""
    return f"{row['liquid']} at {row['temperature_c']} C{shear}"


def washburn_k_mm_per_sqrt_s(
    wetting: Liquid, *, pore_radius_nm: float, contact_angle_deg: float = 0.0
) -> float:
    """Wicking constant K (mm/√s) of a strip with pores of this effective radius.

    K = √(γ r cos θ / 2µ) (Washburn 1921). For a free liquid; the touch of tissue is limited by
    what tissue supplies and is not expressed as a pore radius.

    Examples
    --------
    >>> round(washburn_k_mm_per_sqrt_s(liquid("water"), pore_radius_nm=100), 3)
    2.251
    """
    if not pore_radius_nm > 0 or not 0 <= contact_angle_deg < 90:
        raise ValueError(
            f"field pore_radius_nm/contact_angle_deg: got {pore_radius_nm:g} and "
            f"{contact_angle_deg:g}; allowed is a radius above 0 and an angle from 0 to below 90 "
            "degrees; at 90 and more nothing wicks"
        )
    tension_n_per_m, viscosity_pa_s = _si(wetting)
    pull = tension_n_per_m * pore_radius_nm * 1e-9 * np.cos(np.radians(contact_angle_deg))
    return float(1e3 * np.sqrt(pull / (2 * viscosity_pa_s)))


def k_ratio(one: Liquid, other: Liquid) -> float:
    """K of one free liquid over K of another in the same paper, at equal contact angle.

    Examples
    --------
    >>> round(k_ratio(liquid("blood"), liquid("water")), 2)
    0.4
    """
    (tension, viscosity), (other_tension, other_viscosity) = _si(one), _si(other)
    return float(np.sqrt(tension / viscosity * other_viscosity / other_tension))


def _si(wetting: Liquid) -> tuple[float, float]:
    return wetting.surface_tension_mn_per_m * 1e-3, wetting.viscosity_mpa_s * 1e-3
