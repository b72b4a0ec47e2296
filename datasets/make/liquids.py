"""Make ``liquids.csv``: surface tension and viscosity of what a paper point may meet.

Run from the top of the checkout: ``python datasets/make/liquids.py``. Water comes from iapws
(releases R1-76 and R12-08, density of IAPWS-95 at one atmosphere); blood and serum are the
published figures named in their rows.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import iapws

ATMOSPHERE_MPA = 0.101325
BODY_C = 37.0
# Rosina: surface tension (mN/m) falls with temperature t (Celsius) along a straight line.
TENSION_LINES = {"blood": (-0.473, 70.105), "serum": (-0.368, 66.072)}
ROSINA = "Rosina et al. 2007, Physiol Res 56 Suppl 1:S93"
# Rosenson: viscosity (mPa s) at 37 Celsius, by shear rate (1/s); serum is not shear-dependent.
VISCOSITIES = {"blood": ((100.0, 3.26), (50.0, 4.37), (1.0, 5.46)), "serum": ((None, 1.27),)}
ROSENSON = "Rosenson, McCormick & Uretz 1996, Clin Chem 42:1189"
COLUMNS = ("id", "liquid", "temperature_c", "shear_per_s", "surface_tension_mn_per_m",
           "viscosity_mpa_s", "source", "status")  # fmt: skip


def water(celsius: float) -> tuple[float, float]:
    """Surface tension (mN/m) and viscosity (mPa s) of water."""
    kelvin = celsius + 273.15
    state = iapws.IAPWS95(T=kelvin, P=ATMOSPHERE_MPA)
    return 1e3 * iapws._iapws._Tension(kelvin), 1e3 * state.mu


def rows() -> Iterator[tuple[object, ...]]:
    """The table, one row a figure."""
    computed = f"iapws {iapws.__version__}: IAPWS R1-76, R12-08 and IAPWS-95"
    for celsius in (20.0, 25.0, 30.0, BODY_C):
        tension, viscosity = water(celsius)
        name = f"water_{celsius:g}"
        yield f"{name}_tension", "water", celsius, "", f"{tension:.4f}", "", computed, "computed"
        yield (
            f"{name}_viscosity", "water", celsius, "", "", f"{viscosity:.5f}", computed, "computed",
        )  # fmt: skip
    for liquid, (slope, intercept) in TENSION_LINES.items():
        tension = slope * BODY_C + intercept
        yield f"{liquid}_tension", liquid, BODY_C, "", f"{tension:.3f}", "", ROSINA, "seen"
    for liquid, points in VISCOSITIES.items():
        for shear, viscosity in points:
            at = "" if shear is None else f"_{shear:g}"
            yield (
                f"{liquid}_viscosity{at}", liquid, BODY_C, "" if shear is None else shear, "",
                viscosity, ROSENSON, "seen",
            )  # fmt: skip


def main() -> None:
    """Write the table beside the others."""
    path = Path(__file__).resolve().parents[1] / "liquids.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(rows())


if __name__ == "__main__":
    main()
