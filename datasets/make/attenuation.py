"""Make ``attenuation.csv``: linear attenuation of what a tooth's radiograph shows.

Run from the top of the checkout: ``python datasets/make/attenuation.py``. Mass attenuation comes
from xraydb (Elam, Ravel & Sieber 2002, Radiat. Phys. Chem. 63:121), total cross-section, summed
over the elements by mass; the densities and compositions are the assumptions named below.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

import xraydb

ENERGIES_KEV = tuple(range(20, 61, 2))
HYDROXYAPATITE = {"Ca": 0.3989, "P": 0.1850, "O": 0.4141, "H": 0.0020}
COLLAGEN = {"C": 0.520, "N": 0.170, "O": 0.235, "H": 0.070, "S": 0.005}
WATER = {"H": 0.1119, "O": 0.8881}


class Material(NamedTuple):
    """Density with the range it may lie in (g/cm3), and mass fractions of the elements."""

    density: float
    low: float
    high: float
    fractions: Mapping[str, float]
    source: str


def mixed(**shares: float) -> dict[str, float]:
    """Mass fractions of a mixture of mineral, collagen and water."""
    parts = {"mineral": HYDROXYAPATITE, "collagen": COLLAGEN, "water": WATER}
    whole: dict[str, float] = {}
    for name, share in shares.items():
        for element, fraction in parts[name].items():
            whole[element] = whole.get(element, 0.0) + share * fraction
    return whole


MATERIALS = {
    "enamel": Material(
        2.90, 2.70, 3.00, mixed(mineral=0.96, collagen=0.01, water=0.03),
        "composition by mass from memory: 96 % hydroxyapatite, 3 % water, 1 % organic",
    ),
    "dentine": Material(
        2.10, 2.00, 2.30, mixed(mineral=0.70, collagen=0.20, water=0.10),
        "composition by mass from memory: 70 % hydroxyapatite, 20 % organic, 10 % water",
    ),
    "cortical_bone": Material(
        1.92, 1.80, 2.00,
        {"H": 0.034, "C": 0.155, "N": 0.042, "O": 0.435, "Na": 0.001, "Mg": 0.002, "P": 0.103,
         "S": 0.003, "Ca": 0.225},
        "ICRU Report 44 cortical bone, from memory",
    ),
    "cancellous_bone": Material(
        1.18, 1.05, 1.40,
        {"H": 0.085, "C": 0.404, "N": 0.028, "O": 0.367, "Na": 0.001, "Mg": 0.001, "P": 0.034,
         "S": 0.002, "Cl": 0.002, "K": 0.001, "Ca": 0.075},
        "ICRP spongiosa, from memory",
    ),
    "soft_tissue": Material(
        1.06, 1.00, 1.10,
        {"H": 0.102, "C": 0.143, "N": 0.034, "O": 0.708, "Na": 0.002, "P": 0.003, "S": 0.003,
         "Cl": 0.002, "K": 0.003},
        "ICRU Report 44 soft tissue, from memory",
    ),
    "steel": Material(
        7.90, 7.80, 8.00, {"Fe": 0.73, "Cr": 0.18, "Ni": 0.09},
        "stainless steel with 18 % chromium and 9 % nickel, from memory",
    ),
}  # fmt: skip


def per_mm(material: Material, energy_kev: float) -> float:
    """Linear attenuation (1/mm) of a material at an energy (keV)."""
    total = sum(
        share * float(xraydb.mu_elam(element, 1000.0 * energy_kev, kind="total"))
        for element, share in material.fractions.items()
    )
    return material.density * total / (10.0 * sum(material.fractions.values()))


def rows() -> list[dict[str, object]]:
    """The table, one row a material and energy."""
    source = f"xraydb {xraydb.__version__.split('+')[0]} (Elam, Ravel & Sieber 2002), total"
    return [
        {
            "id": f"{name}_{energy}",
            "material": name,
            "energy_kev": energy,
            "attenuation_per_mm": f"{per_mm(material, energy):.6g}",
            "density_g_per_cm3": material.density,
            "density_low_g_per_cm3": material.low,
            "density_high_g_per_cm3": material.high,
            "density_source": material.source,
            "density_status": "from memory",
            "source": source,
            "status": "computed",
        }
        for name, material in MATERIALS.items()
        for energy in ENERGIES_KEV
    ]


def main() -> None:
    """Write the table beside the others."""
    table = rows()
    path = Path(__file__).resolve().parents[1] / "attenuation.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, fieldnames=list(table[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(table)


if __name__ == "__main__":
    main()
