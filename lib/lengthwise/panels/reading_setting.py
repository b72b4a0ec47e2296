"""The canals of lesson 03, what can be in them, what disturbs a reading, and what can be changed.

The canals are invented upper canines: one as the population's median, and others that differ from
it in one respect each.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.bench.canal_state import as_canals
from lengthwise.bench.meter_conditions import ReadingConditions
from lengthwise.bench.meter_line import line_shapes
from lengthwise.physics.impedance import furthest_past_mm
from lengthwise.physics.line import File
from lengthwise.reference import electrical as e
from lengthwise.reference.electrical_draws import ElectricalDraw

FDI = "13"
SIZES = (10, 15, 20, 25, 40)
START_MM, END_MM = -4.5, 0.5
"""The motion: from so far short of the foramen to a little past it. No clinic would know."""

_DRAWN = draw_canals(FDI, 1, np.random.default_rng(1)).one(0)
_MOST = replace(
    _DRAWN, apex_mm=26.4, foramen_mm=26.0, constriction_mm=25.4, cej_mm=9.9,
    foramen_diameter_mm=0.58, foramen_angle_deg=16.0, constriction_diameter_mm=0.25,
    diameter_bl_mm=(0.31, 0.58, 0.63), diameter_md_mm=(0.29, 0.44, 0.50), curvature_deg=5.0,
)  # fmt: skip
_LONG = replace(_MOST, apex_mm=33.4, foramen_mm=33.0, constriction_mm=32.4, cej_mm=11.0)
_LONG_WIDE = replace(
    _LONG, diameter_bl_mm=(0.45, 0.8, 1.25), diameter_md_mm=(0.4, 0.65, 0.95),
)  # fmt: skip
_WIDE_END = replace(_MOST, foramen_diameter_mm=1.1)
_WIDENED = replace(
    _MOST, constriction_diameter_mm=0.6, foramen_diameter_mm=0.62,
    diameter_bl_mm=(0.62, 0.66, 0.8), diameter_md_mm=(0.62, 0.66, 0.75),
)  # fmt: skip
CANALS: dict[str, Canal] = {
    "like most upper canines": _MOST,
    "long and slim": _LONG,
    "long, with a wide body": _LONG_WIDE,
    "with a wide foramen": _WIDE_END,
    "widened to 0.6 mm at its end": _WIDENED,
}
LIQUIDS = ("saline", "hypochlorite, 5 %", "blood", "nothing: it was dried")
TROUBLES = (
    "nothing",
    "the file touches a metal filling now and then",
    "the wet shaft leaks to the gum",
    "the chamber is flooded",
)
CHANGES = (
    "nothing",
    "take a larger file, the thickest that still passes",
    "dry the canal",
    "fill the canal with saline",
    "keep the file off the metal",
    "dry crown, chamber and shaft",
    "flare the canal",
)
TOUCHES_PER_S, PARTS_PER_S = 0.4, 0.9
LEAK_OHM = 500.0
FLARED_MM = 0.75
"""Diameter to which the flare opens the canal, 5 mm from the apex; it goes on with that taper."""


@dataclass(frozen=True)
class Setting:
    """What a reading is taken in: one each of `CANALS`, `LIQUIDS`, `TROUBLES`, `SIZES`; flared."""

    canal: str = "like most upper canines"
    liquid: str = LIQUIDS[0]
    trouble: str = TROUBLES[0]
    size: int = 15
    flared: bool = False


READS_WELL = Setting()


def canal_of(setting: Setting) -> Canal:
    """The canal, flared where the setting says so."""
    canal = CANALS[setting.canal]
    if not setting.flared:
        return canal
    bl, md = (
        (*widths[:2], max(widths[2], FLARED_MM))
        for widths in (canal.diameter_bl_mm, canal.diameter_md_mm)
    )
    return replace(canal, diameter_bl_mm=bl, diameter_md_mm=md)


def conditions_of(setting: Setting, *worlds: ElectricalDraw) -> ReadingConditions:
    """Liquid and trouble as the bench's conditions, in one draw or in several."""
    film, chlorine, contact, metal = (
        np.array([getattr(draw, name) for draw in worlds])
        for name in ("film_mm", "hypochlorite_ohm_m", "contact_ohm", "contact_mm2")
    )
    saline, hypochlorite, blood, dried = LIQUIDS
    by_liquid: dict[str, dict[str, npt.ArrayLike]] = {
        saline: {},
        hypochlorite: {"irrigant_ohm_m": chlorine},
        blood: {"blood_share": 1.0},
        dried: {"level_mm": 0.0, "film_mm": film, "swing": 1.0},
    }
    nothing, touches, leaks, flooded = TROUBLES
    by_trouble: dict[str, dict[str, npt.ArrayLike]] = {
        nothing: {},
        touches: {"touches_per_s": TOUCHES_PER_S, "parts_per_s": PARTS_PER_S,
                  "contact_ohm": contact, "contact_mm2": metal},
        leaks: {"leak_ohm": LEAK_OHM},
        flooded: {"flooded_ohm": e.FLOODED_OHM.value},
    }  # fmt: skip
    return ReadingConditions(**by_liquid[setting.liquid], **by_trouble[setting.trouble])


def changed(setting: Setting, change: str) -> Setting:
    """The setting after one of `CHANGES`; the same one where there is nothing to be changed.

    Examples
    --------
    >>> changed(Setting(trouble=TROUBLES[1]), CHANGES[4]) == READS_WELL
    True
    >>> changed(Setting("widened to 0.6 mm at its end"), CHANGES[1]).size
    40
    """
    saline, _, _, dried = LIQUIDS
    none, touches, leaks, flooded = TROUBLES
    _, larger, dry, fill, off_metal, dry_crown, flare = CHANGES
    if change == larger:
        return replace(setting, size=max(setting.size, thickest_size(setting)))
    if change == dry:
        # What is sucked out of the canal is sucked out of the chamber first.
        trouble = none if setting.trouble == flooded else setting.trouble
        return replace(setting, liquid=dried, trouble=trouble)
    if change == fill:
        return replace(setting, liquid=saline)
    if change == off_metal and setting.trouble == touches:
        return replace(setting, trouble=none)
    if change == dry_crown and setting.trouble in (leaks, flooded):
        return replace(setting, trouble=none)
    if change == flare:
        return replace(setting, flared=True)
    return setting


def thickest_size(setting: Setting) -> int:
    """The thickest of `SIZES` that reaches the end of the motion in this canal."""
    shape = line_shapes(as_canals(canal_of(setting)), shaped=False)
    reach = [size for size in SIZES if furthest_past_mm(shape, File(size / 100))[0] >= END_MM]
    return max(reach, default=min(SIZES))
