"""What readings do to canals unlike the calibration's, over draws: conclusions, robust or open.

Lengths past the foramen are positive, short of it negative, as in `meter_behaviours`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from lengthwise.bench.meter_curve import MeterCurve, calibration_curve, median_shape
from lengthwise.physics.line import File, Floats, LineShape
from lengthwise.reference import electrical as e
from meter_behaviours import FULL, Draws, signal_mm

NARROW_MM = 0.30
YOUNG_MM, OLD_MM = 0.502, 0.681  # means at 18-25 and over 55 years, Kuttler 1955 (second-hand)
LONG_MM, LONGEST_MM = 18.0, 25.0  # roots; the canine's longest is 28.5 (Woelfel, second-hand)
WIDE_FROM_MM, WIDE_TIMES = 4.0, 1.5


@dataclass(frozen=True)
class Conclusion:
    """Where the foramen signal comes in a canal unlike the one the meter was calibrated on."""

    name: str
    says: str
    narrow: bool
    """Calibrated on a foramen of `NARROW_MM`, not on the population's median canal."""


CONCLUSIONS = tuple(
    Conclusion(f"{name}_{'narrow' if narrow else 'median'}", says, narrow)
    for narrow in (True, False)
    for name, says in (
        ("long", f"root of {LONG_MM:g} mm instead of the median's"),
        ("longest", f"root of {LONGEST_MM:g} mm instead of the median's"),
        ("young", f"foramen of {YOUNG_MM:.2f} mm"),
        ("old", f"foramen of {OLD_MM:.2f} mm"),
        ("long_wide", f"root of {LONG_MM:g} mm, its body {WIDE_TIMES:g} times as wide"),
    )
)


def conclusions(draws: Draws) -> dict[str, Floats]:
    """Place of the foramen signal (mm past the foramen) by name of the conclusion, each (n,)."""
    found: dict[str, Floats] = {}
    own = median_shape(len(draws))
    narrow = foramen(own, NARROW_MM)
    for ending, shape, curve in (
        ("narrow", narrow, calibration_curve(draws.materials, narrow)),
        ("median", own, draws.curve),
    ):
        for name, other in (
            ("long", longer(shape, LONG_MM)),
            ("longest", longer(shape, LONGEST_MM)),
            ("young", foramen(shape, YOUNG_MM)),
            ("old", foramen(shape, OLD_MM)),
            ("long_wide", longer(wide_body(shape), LONG_MM)),
        ):
            found[f"{name}_{ending}"] = _signal(curve, other, draws)
    return found


def foramen(shape: LineShape, diameter_mm: float) -> LineShape:
    """The same canal with a foramen of this width."""
    radius, outer = shape.radius_mm.copy(), shape.outer_radius_mm.copy()
    radius[:, 0] = diameter_mm / 2
    outer[:, 0] = np.maximum(outer[:, 0], radius[:, 0] + e.LEAST_WALL_MM.value)
    return replace(shape, radius_mm=radius, outer_radius_mm=outer)


def longer(shape: LineShape, orifice_mm: float) -> LineShape:
    """The same canal, going on from its orifice as wide as it is there: length by itself."""
    on = np.full((len(shape), 1), orifice_mm)
    return LineShape(
        np.hstack([shape.height_mm, on]),
        np.hstack([shape.radius_mm, shape.radius_mm[:, -1:]]),
        np.hstack([shape.outer_radius_mm, shape.outer_radius_mm[:, -1:]]),
    )


def wide_body(shape: LineShape) -> LineShape:
    """The same canal, wider from some millimetres above the foramen on."""
    radius = np.where(shape.height_mm > WIDE_FROM_MM, WIDE_TIMES, 1.0) * shape.radius_mm
    return replace(shape, radius_mm=radius)


def _signal(curve: MeterCurve, shape: LineShape, draws: Draws) -> Floats:
    return signal_mm(curve, shape, File(e.CALIBRATION_FILE_MM.value), FULL, draws.materials)
