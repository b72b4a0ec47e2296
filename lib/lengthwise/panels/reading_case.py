"""What a reading in one of the canals of lesson 03 gives: curve, impedance, trace, signs.

One draw of the calibration stands for the world in the picture, the one in which the median
canal's curve lies nearest to the middle of all draws. What holds in all draws is in the lesson's
tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np

from lengthwise.anatomy.canals import Canal
from lengthwise.bench.canal_state import as_canals
from lengthwise.bench.meter import Meter, all_meters, read_motion
from lengthwise.bench.meter_line import line_shapes
from lengthwise.bench.meter_motion import Motion, default_motion
from lengthwise.panels.reading_setting import (
    END_MM,
    START_MM,
    Setting,
    canal_of,
    conditions_of,
)
from lengthwise.physics.impedance import furthest_past_mm, impedance_ohm, quotient
from lengthwise.physics.line import File, Floats, LineShape
from lengthwise.physics.line_tips import Complexes
from lengthwise.reconciliation.trace_quality import TraceQuality, assess_trace
from lengthwise.reference.electrical_draws import ElectricalDraw, electrical_draws
from lengthwise.reference.shared import read_only

HZ = 10.0
PLACES_MM: Floats = np.concatenate([np.arange(-4.5, -2.0, 0.25), np.arange(-2.0, 0.71, 0.1)])
SEED, MOST_KEPT = 23, 256
"""With this seed the stop on the file is set nearly true; stops are lesson 06's matter."""


@dataclass(frozen=True, eq=False)
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

    def first_moment_s(self, past_mm: float) -> float:
        """When the file first comes this far (s); the moment of its furthest place beyond that."""
        there = self.tip_mm >= past_mm - 1e-9
        return float(self.time_s[there.argmax() if there.any() else self.tip_mm.argmax()])


@cache
def world() -> tuple[ElectricalDraw, Meter]:
    """The draw that the picture is made with, and the meter calibrated in it."""
    curves = all_meters().curve.quotient
    off = np.abs(curves - np.median(curves, axis=0)).sum(axis=1)
    nearest = int(off.argmin())
    return electrical_draws()[nearest], read_only(all_meters().some(nearest))


@lru_cache(maxsize=MOST_KEPT)
def reading_of(setting: Setting) -> Reading:
    """Read a canal as the setting says; the same setting always gives the same trace.

    Examples
    --------
    >>> plain = reading_of(Setting())
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
    reading = Reading(
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
    return read_only(reading)


def motion_to(canal: Canal) -> Motion:
    """The same motion in every canal: in, rest, on, rest, back, rest, in, rest, back."""
    return default_motion(canal.foramen_mm + END_MM, from_mm=canal.foramen_mm + START_MM, hz=HZ)
