"""The tables of lesson 03: what holds in all draws of the calibration, and what does not.

Nobody has measured the wall, the tissue and the file's surface for this use. Each draw is one
world in which readings behave as published ones do, with a meter calibrated in that world. A
conclusion is called sure when nine worlds in ten agree on it, and not sure when they do not.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from lengthwise.anatomy.canals import Canal
from lengthwise.bench.canal_state import as_canals
from lengthwise.bench.meter import all_meters
from lengthwise.bench.meter_line import line_shapes
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.reading_setting import (
    CANALS,
    LIQUIDS,
    TROUBLES,
    Setting,
    canal_of,
    conditions_of,
)
from lengthwise.physics.impedance import furthest_past_mm, impedance_ohm, quotient
from lengthwise.physics.line import File, Floats, LineShape
from lengthwise.physics.line_tips import Complexes
from lengthwise.reference import electrical as e
from lengthwise.reference.electrical_draws import electrical_draws
from lengthwise.reference.shared import read_only

PLACES_MM: Floats = np.concatenate(
    [[-8.0, -6.0, -4.5], np.arange(-3.0, -1.0, 0.5), np.arange(-1.0, 1.01, 0.1)]
)

NEAR_MM, EARLY_MM = 0.5, -2.0
AGREED = 0.9
STEPS_MM = (-3.0, -2.0, -1.0, -0.5, 0.0, 0.5)
WIDTHS_MM = (0.3, 0.45, 0.6, 0.8, 1.0)
LENGTHS_MM = (20.0, 23.0, 26.0, 29.0, 33.0)
CLASSES = ("far too early", "short", "within 0.5 mm", "late or never")
MOST_CANALS, WIDENED = "like most upper canines", "widened to 0.6 mm at its end"
EXTRACTED = "extracted tooth"
FILES = (10, 40)


@cache
def signals_mm(setting: Setting, canal: Canal | None = None, world: str = "patient") -> Floats:
    """Where the foramen signal comes (mm past the foramen) in every draw, (draws,); NaN: never.

    The setting's canal, or another one; in patients, or in teeth that stand in agar (`EXTRACTED`).

    Examples
    --------
    >>> signals_mm(Setting()).shape
    (64,)
    """
    past, z = _seen(setting, canal or canal_of(setting), PLACES_MM, world)
    return read_only(all_meters().curve.foramen_signal_mm(past, quotient(z)))


def _seen(
    setting: Setting, canal: Canal, past_mm: Floats, world: str = "patient"
) -> tuple[Floats, Complexes]:
    """Places that the file reaches (k,), and the impedance (ohm) there in every draw, (n, k, 2)."""
    one, file = line_shapes(as_canals(canal), shaped=False), File(setting.size / 100)
    past = np.unique(np.minimum(past_mm, furthest_past_mm(one, file)[0]))
    many = LineShape(*(np.repeat(v, len(electrical_draws()), axis=0) for v in vars(one).values()))
    touched = setting.trouble == TROUBLES[1]
    filling = conditions_of(setting, *electrical_draws()).filling(touched=touched)
    materials = all_meters().materials
    if world == EXTRACTED:
        materials = replace(
            materials, tissue_ohm_m=e.AGAR_OHM_M.value, body_ohm=e.AGAR_BODY_OHM.value
        )
    z = impedance_ohm(many, file, filling, materials, past)
    return past, z


def shares(signal_mm: Floats) -> Floats:
    """Share of the draws in each of `CLASSES`, (4,).

    Examples
    --------
    >>> shares(np.array([-8.0, -0.6, 0.2, np.nan])).tolist()
    [0.25, 0.25, 0.25, 0.25]
    """
    late = ~(signal_mm <= NEAR_MM)  # none is late as well
    early, short = signal_mm < EARLY_MM, signal_mm < -NEAR_MM
    return np.array([np.mean(c) for c in (early, short & ~early, ~short & ~late, late)])


def verdict(signal_mm: Floats) -> str:
    """What can be concluded from the draws.

    >>> verdict(np.full(10, 0.1)), verdict(np.array([0.1, np.nan]))
    ('sure: within 0.5 mm', 'not sure')
    """
    share = shares(signal_mm)
    return f"sure: {CLASSES[share.argmax()]}" if share.max() >= AGREED else "not sure"


def spread(values: Floats, digits: int = 1) -> str:
    """Median and the range of nine draws in ten; draws without a value are left out.

    >>> spread(np.linspace(-1.0, 1.0, 101))
    '0.0 (-0.9 to 0.9)'
    """
    there = values[np.isfinite(values)]
    if not there.size:
        return "–"
    middle, low, high = (
        f"{v:.{digits}f}".replace("-0.0", "0.0") if digits == 1 else f"{v:.{digits}f}"
        for v in np.quantile(there, (0.5, 0.05, 0.95))
    )
    return f"{middle} ({low} to {high})" if low != high else middle


def none_in(signal_mm: Floats) -> str:
    """In how many of 100 draws the signal never comes."""
    return f"{100 * np.mean(np.isnan(signal_mm)):.0f} of 100"


def impedance_table() -> Sheet:
    """What the meter sees in a canal like most, as the tip goes in."""
    _, z = _seen(Setting(), CANALS[MOST_CANALS], np.array(STEPS_MM))
    rows = tuple(
        (
            f"{step:+.1f}".replace("+0.0", "0.0"),
            spread(np.abs(z[:, i, 0]) / 1000),
            spread(quotient(z)[:, i], 2),
            spread(-np.degrees(np.angle(z[:, i, 0])), 0),
        )
        for i, step in enumerate(STEPS_MM)
    )
    heads = ("Tip (mm)", "Low (kΩ)", "Quotient", "Angle (°)")
    return Sheet("A canal like most, by mm past the foramen", heads, rows)


def cause_table() -> Sheet:
    """What else than the foramen moves the foramen signal, one thing at a time."""
    plain = Setting()
    settings = {
        "a canal like most, saline": plain,
        "long and slim": Setting("long and slim"),
        "long, with a wide body": Setting("long, with a wide body"),
        "the same, dried": Setting("long, with a wide body", LIQUIDS[3]),
        "wide foramen": Setting("with a wide foramen"),
        "widened to 0.6 mm": Setting(WIDENED),
        "a canal like most, flared": replace(plain, flared=True),
        "dried": replace(plain, liquid=LIQUIDS[3]),
        "blood": replace(plain, liquid=LIQUIDS[2]),
        "hypochlorite": replace(plain, liquid=LIQUIDS[1]),
        "metal contact": replace(plain, trouble=TROUBLES[1]),
        "leak along the shaft": replace(plain, trouble=TROUBLES[2]),
        "flooded chamber": replace(plain, trouble=TROUBLES[3]),
    }
    rows = tuple(_signal_row(name, signals_mm(each)) for name, each in settings.items())
    return Sheet("Where the foramen signal comes (mm past the foramen)", SIGNAL_HEADS, rows)


SIGNAL_HEADS = ("In", "Signal", "Never", "So")


def _signal_row(name: str, signal_mm: Floats) -> tuple[str, ...]:
    at_once = np.nanmedian(signal_mm) <= PLACES_MM[0]
    said = "from the start" if at_once else spread(signal_mm)
    return name, said, none_in(signal_mm), verdict(signal_mm)


def width_table() -> Sheet:
    """The same canal with a narrow and a wide foramen."""
    most = CANALS[MOST_CANALS]
    narrow = signals_mm(Setting(), replace(most, foramen_diameter_mm=WIDTHS_MM[0]))
    rows = []
    for width in WIDTHS_MM:
        signal = signals_mm(Setting(), replace(most, foramen_diameter_mm=width))
        rows.append((f"{width:g}", spread(signal), none_in(signal), spread(signal - narrow)))
    heads = ("Foramen (mm)", "Signal", "Never", f"Against {WIDTHS_MM[0]:g} mm")
    return Sheet("Where the foramen signal comes, by width of the foramen", heads, tuple(rows))


def length_table() -> Sheet:
    """The same last millimetres at the end of teeth of different lengths."""
    rows = []
    middle = signals_mm(Setting(), as_long(26.0))
    for length in LENGTHS_MM:
        signal = signals_mm(Setting(), as_long(length))
        rows.append((f"{length:g}", spread(signal), none_in(signal), spread(signal - middle)))
    heads = ("Foramen at (mm)", "Signal", "Never", "Against 26 mm")
    return Sheet("Where the foramen signal comes, by length", heads, tuple(rows))


def as_long(foramen_mm: float) -> Canal:
    """The canal like most in a tooth of another length; its crown keeps its height."""
    most = CANALS[MOST_CANALS]
    longer = foramen_mm - most.foramen_mm
    return replace(
        most,
        foramen_mm=foramen_mm,
        apex_mm=most.apex_mm + longer,
        constriction_mm=most.constriction_mm + longer,
    )


def file_table() -> Sheet:
    """A canal widened to 0.6 mm, by liquid and file: extracted and in a patient.

    The study of such canals had extracted teeth in agar; nobody has compared patients.
    """
    rows = []
    for liquid, word in ((LIQUIDS[2], "blood"), (LIQUIDS[1], "hypochlorite")):
        for size in FILES:
            setting = Setting(WIDENED, liquid, size=size)
            tooth = signals_mm(setting, world=EXTRACTED)
            patient = signals_mm(setting)
            rows.append((
                f"{word}, {size}", spread(tooth), spread(patient), none_in(patient),
            ))  # fmt: skip
    heads = ("In it, file", "Extracted", "Patient", "Never")
    return Sheet("Foramen signal in a canal widened to 0.6 mm", heads, tuple(rows))
