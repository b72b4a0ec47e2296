"""Make ``meter_canal.csv``: the population's median canal, on which the meter is calibrated.

Run from the top of the checkout: ``python datasets/make/meter_canal.py``. As many canals of every
kind of tooth are drawn, as they grew; each figure is the median over all of them.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_space import knots_mm
from lengthwise.bench.meter_line import line_shapes
from lengthwise.reference.tables import fdi_codes, tooth

SEED = 20_250_107
EACH = 400
BETWEEN_MM = (1.0, 2.0, 3.0, 6.0, 9.0)  # further places, for the root's outline is not straight
PLACES = ("foramen", "constriction", "two_from_apex", "five_from_apex", "orifice")
SOURCE = "median of canals of all kinds of tooth, drawn by make/meter_canal.py"


def rows() -> list[dict[str, object]]:
    """The table, from the foramen up to the orifice."""
    rng = np.random.default_rng(SEED)
    right = [fdi for fdi in fdi_codes() if fdi[0] in "14"]
    drawn = [
        draw_canals(fdi, EACH, rng, canal=canal) for fdi in right for canal in tooth(fdi).canals
    ]
    knots = [knots_mm(canals) for canals in drawn]
    heights, widths = (
        np.median(np.concatenate([pair[i] for pair in knots]), axis=0) for i in (0, 1)
    )
    orifice = np.median(np.concatenate([c.foramen_mm - c.cej_mm for c in drawn]))
    taper = (widths[-1] - widths[-2]) / (heights[-1] - heights[-2])
    heights = np.append(heights, orifice)
    widths = np.append(widths, widths[-1] + taper * (orifice - heights[-2]))
    names = dict(zip(heights, PLACES, strict=True)) | {z: f"{z:g}_mm" for z in BETWEEN_MM}
    places = np.array(sorted(names))
    roots = [
        np.interp(places, shape.height_mm[i], shape.outer_radius_mm[i])
        for shape in (line_shapes(canals, shaped=False) for canals in drawn)
        for i in range(len(shape))
    ]
    canal, root = np.interp(places, heights, widths), 2 * np.median(roots, axis=0)
    return [
        {
            "id": names[z],
            "height_mm": f"{z:.3f}",
            "canal_diameter_mm": f"{canal[i]:.3f}",
            "root_diameter_mm": f"{root[i]:.3f}",
            "source": SOURCE,
            "status": "computed",
        }
        for i, z in enumerate(places)
    ]


def main() -> None:
    """Write the table beside the others."""
    table = rows()
    path = Path(__file__).resolve().parents[1] / "meter_canal.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.DictWriter(stream, fieldnames=list(table[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(table)


if __name__ == "__main__":
    main()
