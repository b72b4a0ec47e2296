"""Published behaviours of readings, computed for draws of the unmeasured parameters.

Each behaviour is a figure, the range in which it agrees with what was published, and how much a
miss of the range weighs. The ranges are wide where the source gives words and no figures.
Lengths past the foramen are positive, short of it negative. A signal that does not come up to
`LAST_MM` past the foramen counts as coming there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

import numpy as np
from lengthwise.bench.meter_curve import MeterCurve, calibration_curve, median_shape
from lengthwise.physics.impedance import furthest_past_mm, impedance_ohm, quotient
from lengthwise.physics.line import File, Filling, Floats, LineShape, Materials
from lengthwise.reference import electrical as e

LAST_MM = 1.0
AT_MM: Floats = np.concatenate(
    [[-8.0, -6.0, -4.5, -3.5, -3.0, -2.5, -2.0, -1.6, -1.3], np.linspace(-1.0, LAST_MM, 17)]
)
WIDE_MM = 1.14
SMALL_SIZES_MM, LARGE_SIZES_MM = (0.10, 0.20, 0.40), (0.50, 0.60, 0.80)
WIDENED_MM = (0.40, 0.60, 0.80)
SMALL_FILE_MM = 0.10
LEAK_OHM = 1000.0
# Extracted teeth stand in agar or alginate, about saline at 25 C (1.45 S/m, Baumann 1997, IEEE TBME
# 44:220, seen), beside a large electrode: no body in series.
MEDIUM_OHM_M, MEDIUM_BODY_OHM = 1 / 1.45, 20.0
FULL = Filling(e.SALINE_OHM_M.value)

KIM = "Kim, Kim & Cho 2015, Restor Dent Endod 40:113 (seen)"
RAMBO = "Rambo et al. 2010, BioMed Eng OnLine 9:46 (seen)"
WIDE = "study of 20 teeth, 2022 (seen)"
SUNADA = "Sunada 1962, J Dent Res 41:375, and another text (second-hand)"
EBRAHIM = "Ebrahim and co-workers, 36 premolars in agar (seen)"
PRACTICE = "common practice"


@dataclass(frozen=True)
class Behaviour:
    """A figure of `figures`, where it agrees with its source, and what a miss weighs.

    A miss of one tolerance costs half a unit of log-likelihood, of two tolerances two units.
    """

    name: str
    says: str
    unit: str
    low: float
    high: float
    tolerance: float
    source: str
    reason: str

    def miss(self, figure: Floats) -> Floats:
        """How far figures lie outside the range, in its unit; 0 inside."""
        return np.maximum(np.maximum(self.low - figure, figure - self.high), 0.0)


@dataclass(frozen=True)
class Draws:
    """n draws of everything unmeasured, each field (n,), with the meter's curve of each."""

    materials: Materials
    film_mm: Floats
    hypochlorite_ohm_m: Floats
    contact_ohm: Floats
    contact_mm2: Floats
    curve: MeterCurve

    def __len__(self) -> int:
        return len(self.film_mm)


def draws_of(columns: Mapping[str, Floats]) -> Draws:
    """Draws from one array a parameter."""
    names = {field.name for field in fields(Materials)}
    materials = Materials(**{k: v for k, v in columns.items() if k in names})
    rest = {k: v for k, v in columns.items() if k not in names}
    return Draws(materials, curve=calibration_curve(materials), **rest)


INF = np.inf
BEHAVIOURS = (
    Behaviour(
        "ramp", "length over which the quotient grows with the distance, through the foramen", "mm",
        3.45, INF, 0.1, PRACTICE,
        "a file is followed from 3 mm short, and half a millimetre past the foramen",
    ),
    Behaviour(
        "coronal_plateau", "slope 6 to 3 mm short, over the ramp's slope", "1", -INF, 0.25, 0.1,
        KIM, "a plateau was drawn, no slope given",
    ),
    Behaviour(
        "apical_plateau", "slope 0.5 to 1 mm past, over the ramp's slope", "1", -0.25, 0.25, 0.1,
        KIM, "a plateau was drawn, no slope given",
    ),
    Behaviour(
        "constriction_in_ramp", "share of the fall that is done at the constriction", "1",
        0.1, 0.9, 0.1, KIM, "inside the ramp, not at one of its ends",
    ),
    Behaviour(
        "fall", "fall of the quotient from 3 mm short to 0.5 mm past", "1", 0.15, INF, 0.05,
        KIM, "a fall that a meter can tell from its noise",
    ),
    Behaviour(
        "resistive", "largest phase angle 3 to 1 mm short, either frequency", "degrees",
        -INF, 30.0, 5.0, RAMBO, "mainly resistive: the reactance at most about half the resistance",
    ),
    Behaviour(
        "complex", "phase angle at the foramen, less that 1 mm short", "degrees", 8.0, INF, 3.0,
        RAMBO, "a clear gain; no figure was seen",
    ),
    Behaviour(
        "turn", "gain of phase angle in the last millimetre, less that from 3 to 1 mm short",
        "degrees", 0.0, INF, 3.0, RAMBO, "complex from about 1 mm short, not before",
    ),
    Behaviour(
        "wide_short", "foramen signal in a foramen of 1.14 mm, sizes 10 to 80, the latest",
        "mm", -INF, 0.0, 0.2, WIDE, "short with every size",
    ),
    Behaviour(
        "wide_larger_file", "the same, mean of sizes 50 to 80 less mean of 10 to 40", "mm",
        0.0, INF, 0.1, WIDE, "least short from size 50 on",
    ),
    Behaviour(
        "dry_later", "foramen signal in a dry canal", "mm", 0.0, INF, 0.1,
        PRACTICE, "no figure",
    ),
    Behaviour(
        "dry_hides", "share of the fall done 1 mm short, dry less full", "1", -INF, 0.0, 0.05,
        PRACTICE, "no figure",
    ),
    Behaviour(
        "contact_early", "foramen signal with a small metal contact", "mm", -INF, -3.0, 1.0,
        PRACTICE, "far too early",
    ),
    Behaviour(
        "leak_late", f"foramen signal with a leak of {LEAK_OHM:g} ohm", "mm",
        0.0, INF, 0.1, PRACTICE, "no figure",
    ),
    Behaviour(
        "magnitude", "magnitude at the foramen, 400 Hz", "kohm", 4.0, 10.0, 1.0, SUNADA,
        "6.5 and 6.0 kohm; frequency, electrodes and canals are not known",
    ),
    Behaviour(
        "blood_40_60", "foramen signal of a size 10 in blood, widened to 40, less to 60", "mm",
        0.0, INF, 0.1, EBRAHIM, "increasingly short",
    ),
    Behaviour(
        "blood_60_80", "the same, widened to 60, less to 80", "mm", 0.0, INF, 0.1, EBRAHIM,
        "increasingly short",
    ),
    Behaviour(
        "blood_80", "the same, widened to 80", "mm", -INF, 0.0, 0.2, EBRAHIM, "short",
    ),
    Behaviour(
        "hypochlorite", "foramen signal of a size 10 in 6 % hypochlorite, furthest from 0", "mm",
        -INF, 0.5, 0.25, EBRAHIM, "accurate: within 0.5 mm",
    ),
)  # fmt: skip


def figures_in_patients(draws: Draws) -> dict[str, Floats]:
    """Figures of the behaviours that were seen in patients, each (n,)."""
    materials, curve, median = draws.materials, draws.curve, median_shape(len(draws))
    file = File(e.CALIBRATION_FILE_MM.value)
    dry = replace(FULL, level_mm=0.0, film_mm=draws.film_mm)
    contact = replace(FULL, contact_ohm=draws.contact_ohm, contact_mm2=draws.contact_mm2)
    leak = replace(FULL, contact_ohm=LEAK_OHM)

    at = np.array([-6.0, -3.0, -2.0, -1.0, -median.narrowest_mm[0], 0.0, 0.5, 1.0])
    z = impedance_ohm(median, file, FULL, materials, at)
    angle = np.degrees(np.abs(np.angle(z)))
    six, three, _, one, narrow, foramen, half_past, past = quotient(z).T
    fall, ramp = three - half_past, one - foramen
    last, before = (angle[:, 5] - angle[:, 3])[:, 0], (angle[:, 3] - angle[:, 1])[:, 0]
    d_three, d_one, d_past = quotient(impedance_ohm(median, file, dry, materials, at[[1, 3, 6]])).T
    return {
        "ramp": curve.short_end_mm - curve.past_end_mm,
        "coronal_plateau": (six - three) / 3.0 / ramp,
        "apical_plateau": (half_past - past) / 0.5 / ramp,
        "constriction_in_ramp": (three - narrow) / fall,
        "fall": fall,
        "resistive": angle[:, 1:4].max(axis=(1, 2)),
        "complex": last,
        "turn": last - before,
        "magnitude": np.abs(z[:, 5, 0]) / 1e3,
        "dry_later": signal_mm(curve, median, file, dry, materials),
        "dry_hides": (d_three - d_one) / (d_three - d_past) - (three - one) / fall,
        "contact_early": signal_mm(curve, median, file, contact, materials),
        "leak_late": signal_mm(curve, median, file, leak, materials),
    }


def figures_in_extracted_teeth(draws: Draws) -> dict[str, Floats]:
    """Figures of the behaviours that were seen in extracted teeth, each (n,)."""
    materials = replace(draws.materials, tissue_ohm_m=MEDIUM_OHM_M, body_ohm=MEDIUM_BODY_OHM)
    median = median_shape(len(draws))

    def signals(width_mm: float, size_mm: float, liquid: Floats | float) -> Floats:
        shape, filling = widened(median, width_mm), Filling(liquid)
        return signal_mm(draws.curve, shape, File(size_mm), filling, materials)

    small, large = (
        [signals(WIDE_MM, size, e.SALINE_OHM_M.value) for size in sizes]
        for sizes in (SMALL_SIZES_MM, LARGE_SIZES_MM)
    )
    blood, hypochlorite = (
        [signals(width, SMALL_FILE_MM, liquid) for width in WIDENED_MM]
        for liquid in (e.BLOOD_OHM_M.value, draws.hypochlorite_ohm_m)
    )
    return {
        "wide_short": np.max(small + large, axis=0),
        "wide_larger_file": np.mean(large, axis=0) - np.mean(small, axis=0),
        "blood_40_60": blood[0] - blood[1],
        "blood_60_80": blood[1] - blood[2],
        "blood_80": blood[2],
        "hypochlorite": np.max(np.abs(hypochlorite), axis=0),
    }


def widened(shape: LineShape, tip_mm: float) -> LineShape:
    """Canals that a file of this tip, taper .02, has passed to the foramen and widened."""
    radius = np.maximum(shape.radius_mm, (tip_mm + 0.02 * shape.height_mm) / 2)
    outer = np.maximum(shape.outer_radius_mm, radius + e.LEAST_WALL_MM.value)
    return replace(shape, radius_mm=radius, outer_radius_mm=outer)


def signal_mm(
    curve: MeterCurve, shape: LineShape, file: File, filling: Filling, materials: Materials
) -> Floats:
    """Where the foramen signal comes (mm past the foramen), (n,); see the module."""
    at = np.minimum(AT_MM, furthest_past_mm(shape, file)[:, None])
    q = quotient(impedance_ohm(shape, file, filling, materials, at))
    return np.nan_to_num(curve.foramen_signal_mm(at, q), nan=LAST_MM)
