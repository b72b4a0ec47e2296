"""The canals of lesson 03, and what a reading in one of them gives: curve, impedance, trace.

The canals are invented upper canines. One draw of the calibration stands for the world in the
picture, the one in which the median canal's curve lies nearest to the middle of all draws. What
holds in all draws is in the lesson's tables.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canal, draw_canals
from lengthwise.bench.canal_state import as_canals
from lengthwise.bench.meter import Meter, all_meters, read_motion
from lengthwise.bench.meter_conditions import ReadingConditions
from lengthwise.bench.meter_line import line_shapes
from lengthwise.bench.meter_motion import Motion, default_motion
from lengthwise.physics.impedance import furthest_past_mm, impedance_ohm, quotient
from lengthwise.physics.line import File, Floats, LineShape
from lengthwise.physics.line_tips import Complexes
from lengthwise.reconciliation.trace_quality import TraceQuality, assess_trace
from lengthwise.reference import electrical as e
from lengthwise.reference.electrical_draws import ElectricalDraw, electrical_draws

FDI = "13"
SIZES = (10, 15, 20, 25, 40)
START_MM, END_MM, HZ = -4.5, 0.5, 10.0
"""The motion: from so far short of the foramen to a little past it. No clinic would know."""

PLACES_MM: Floats = np.concatenate([np.arange(-4.5, -2.0, 0.25), np.arange(-2.0, 0.71, 0.1)])
SEED, MOST_KEPT = 23, 256
"""With this seed the stop on the file is set nearly true; stops are lesson 06's matter."""

_DRAWN = draw_canals(FDI, 1, np.random.default_rng(SEED)).one(0)
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


@dataclass(frozen=True)
class Reading:
    """What comes of a setting. Places are in mm past the foramen, negative short of it.

    Attributes
    ----------
    setting, canal
        What was asked for, and the canal as it is then.
    shape
        The canal as the meter's line.
    binds_mm
        Where the file binds; infinite where it passes.
    past_mm, z_ohm, quotient
        Places (k,), impedance (k, 2) at the low and the high frequency, their quotient (k,).
    signal_mm
        Where the quotient falls to the meter's foramen signal, None where it does not.
    time_s, tip_mm, indicated
        The trace, (samples,); NaN in `indicated` where nothing was shown.
    quality
        What `assess_trace` says about the trace.
    """

    setting: Setting
    canal: Canal
    shape: LineShape
    binds_mm: float
    past_mm: Floats
    z_ohm: Complexes
    quotient: Floats
    signal_mm: float | None
    time_s: Floats
    tip_mm: Floats
    indicated: Floats
    quality: TraceQuality

    def sample_at(self, moment_s: float) -> int:
        """Number of the sample at a moment."""
        return int(np.clip(round(moment_s * HZ), 0, len(self.time_s) - 1))

    def z_at(self, sample: int) -> Complexes:
        """Impedance (ohm) at the low and the high frequency with the tip where it is, (2,)."""
        return np.array(
            [np.interp(self.tip_mm[sample], self.past_mm, z) for z in self.z_ohm.T],
            dtype=np.complex128,
        )

    def first_moment_s(self, past_mm: float) -> float:
        """When the file first comes this far (s); the moment of its furthest place beyond that."""
        there = self.tip_mm >= past_mm - 1e-9
        return float(self.time_s[there.argmax() if there.any() else self.tip_mm.argmax()])


@cache
def draws() -> tuple[ElectricalDraw, ...]:
    """Draws of the calibration in the order of `all_meters`, which leaves some out.

    Examples
    --------
    >>> len(draws()) == len(all_meters().curve)
    True
    """
    materials = all_meters().materials
    by_wall = {(draw.dentine_ohm_m, draw.body_ohm): draw for draw in electrical_draws()}
    walls = np.stack([np.asarray(materials.dentine_ohm_m), np.asarray(materials.body_ohm)], axis=1)
    return tuple(by_wall[float(dentine), float(body)] for dentine, body in walls)


@cache
def world() -> tuple[ElectricalDraw, Meter]:
    """The draw that the picture is made with, and the meter calibrated in it."""
    curves = all_meters().curve.quotient
    off = np.abs(curves - np.median(curves, axis=0)).sum(axis=1)
    nearest = int(off.argmin())
    return draws()[nearest], all_meters().some(nearest)


@lru_cache(maxsize=MOST_KEPT)
def reading_of(setting: Setting) -> Reading:
    """Read a canal as the setting says; the same setting always gives the same trace.

    Examples
    --------
    >>> plain = reading_of(READS_WELL)
    >>> abs(plain.signal_mm) < 0.5, plain.quality.signal_mm is not None
    (True, True)
    """
    draw, meter = world()
    canal = canal_of(setting)
    canals = as_canals(canal)
    shape, file = line_shapes(canals, shaped=False), File(setting.size / 100)
    conditions = conditions_of(setting, draw)
    binds = float(furthest_past_mm(shape, file)[0])
    past = np.unique(np.minimum(PLACES_MM, binds))
    filling, materials = conditions.filling(), conditions.materials(meter.materials)
    z = impedance_ohm(shape, file, filling, materials, past)
    q = quotient(z)
    signal = float(meter.curve.foramen_signal_mm(past, q)[0])
    motion = motion_to(canal)
    traces = read_motion(
        canals, motion, conditions, np.random.default_rng(SEED), file_size=setting.size,
        shaped=False, meter=meter,
    )  # fmt: skip
    return Reading(
        setting=setting,
        canal=canal,
        shape=shape,
        binds_mm=binds,
        past_mm=past,
        z_ohm=z[0],
        quotient=q[0],
        signal_mm=signal if np.isfinite(signal) else None,
        time_s=np.asarray(motion.time_s),
        tip_mm=np.minimum(np.asarray(motion.depth_mm) - canal.foramen_mm, binds),
        indicated=traces.indicated[0],
        quality=assess_trace(traces.record(0)),
    )


def motion_to(canal: Canal) -> Motion:
    """The same motion in every canal: in, rest, on, rest, back, rest, in, rest, back."""
    return default_motion(canal.foramen_mm + END_MM, from_mm=canal.foramen_mm + START_MM, hz=HZ)


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
