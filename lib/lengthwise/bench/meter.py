"""Electronic readings of the simulated patient: a file moves, a meter shows, a trace is left.

The quotient of two magnitudes comes from the leaky line in the canal's conditions; the display
turns it into an indicated value by a curve made once, on the population's median canal. So every
error of a reading comes out of the physics. Indicated 0 is the foramen signal and the only
landmark; other values are no millimetres of this canal.
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canals
from lengthwise.evidence import ElectronicReading
from lengthwise.physics.impedance import furthest_past_mm
from lengthwise.physics.line import File, Floats, LineShape, Materials
from lengthwise.reference import meter as m
from lengthwise.reference.shared import read_only

from .meter_conditions import ReadingConditions, draw_conditions
from .meter_curve import MeterCurve, calibration_curve
from .meter_grid import QuotientGrid, quotient_grid
from .meter_line import line_shapes
from .meter_materials import all_materials
from .meter_motion import Motion, approach, manoeuvre
from .meter_noise import Disturbances, draw_disturbances, lagged

Generator = np.random.Generator


@dataclass(frozen=True, eq=False)
class Meter:
    """What n patients are made of, and the curve of a meter calibrated in stuff like theirs.

    The fields of `materials` are arrays (n,), and `curve` has n rows; 1 stands for everybody.
    """

    materials: Materials
    curve: MeterCurve

    def some(self, which: npt.ArrayLike) -> "Meter":
        """Those of some rows, in this order, or where a list of flags is true.

        What stands for everybody goes on doing so.
        """
        rows = np.atleast_1d(np.asarray(which))
        rows = rows if rows.size else rows.astype(np.intp)  # an empty list is one of floats

        def own(value: npt.ArrayLike) -> Floats:
            array = np.atleast_1d(np.asarray(value, dtype=np.float64))
            return array[rows] if len(array) > 1 else array

        values = {name: own(value) for name, value in vars(self.materials).items()}
        curve = {name: own(value) for name, value in vars(self.curve).items()}
        return Meter(Materials(**values), MeterCurve(**curve))


@cache
def all_meters() -> Meter:
    """One row for each draw of the calibration, equally likely."""
    materials = all_materials()
    return read_only(Meter(materials, calibration_curve(materials)))


def draw_meters(n: int, rng: Generator) -> Meter:
    """The draws in which n patients live.

    Examples
    --------
    >>> len(draw_meters(3, np.random.default_rng(1)).curve)
    3
    """
    return all_meters().some(rng.integers(0, len(all_meters().curve), n))


@dataclass(frozen=True, eq=False)
class Traces:
    """n traces, (n, samples); NaN after a trace's end and, in `indicated`, where nothing was shown.

    `depth_mm` is what the stop on the file said.
    """

    time_s: Floats
    depth_mm: Floats
    indicated: Floats

    def record(self, i: int, **about: Any) -> ElectronicReading:
        """Trace i as a record; `about` are further fields, such as ``stage``."""
        there = np.isfinite(self.depth_mm[i])
        shown = self.indicated[i, there].tolist()
        return ElectronicReading(
            time_s=tuple(self.time_s[i, there].tolist()),
            depth_mm=tuple(self.depth_mm[i, there].tolist()),
            indicated=tuple(None if v != v else v for v in shown),  # NaN differs from itself
            **about,
        )


def read_motion(
    canals: Canals,
    motion: Motion,
    conditions: ReadingConditions,
    rng: Generator,
    *,
    file_size: npt.ArrayLike = 10,
    shaped: bool = False,
    meter: Meter | None = None,
) -> Traces:
    """Move a file through n canals in the same way.

    A file stops where it binds, however far the hand would go.

    Parameters
    ----------
    canals : Canals
        n canals.
    motion : Motion
        Depths from the reference point, at even moments.
    conditions : ReadingConditions
        Numbers, or arrays (n,).
    rng : numpy.random.Generator
        Where the chance comes from.
    file_size : int or array (n,)
        Size number of the file, of taper 0.02.
    shaped : bool
        Read in the prepared canal rather than in the one that grew.
    meter : Meter, optional
        Drawn by `draw_meters` by default.

    Raises
    ------
    ValueError
        The motion begins above the orifice, or past where the file binds; the file is too wide for
        a canal; a meter for another number of canals.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> from .meter_motion import default_motion
    >>> rng = np.random.default_rng(1)
    >>> canal = draw_canals("13", 1, rng)
    >>> motion = default_motion(float(canal.foramen_mm[0]) + 0.3)
    >>> traces = read_motion(canal, motion, ReadingConditions(), rng)
    >>> bool(traces.indicated[0, 0] > 1), bool(traces.indicated[0, 170] < 0.3)
    (True, True)
    """
    shape, file = line_shapes(canals, shaped=shaped), File(np.asarray(file_size) / 100)
    c, meter = conditions.every(len(canals)), _meter_of(meter, len(canals), rng)
    foramen, furthest = canals.foramen_mm[:, None], _furthest(shape, file)
    wanted = motion.depth_mm - foramen
    _possible(wanted, foramen, -shape.orifice_mm[:, None], furthest)
    time = motion.time_s
    step_s = np.full(len(canals), float(np.diff(time).mean()))
    disturbed = draw_disturbances(c, step_s, time.size, rng)
    past = np.minimum(wanted, furthest)
    grid = quotient_grid(shape, file, c, meter.materials, past, disturbed.touched)
    shown = _shown(grid, meter.curve, past, disturbed, step_s)
    stop = rng.normal(0, m.STOP_SD_MM.value, (len(canals), 1))
    return Traces(np.broadcast_to(time, past.shape), foramen + past + stop, shown)


def draw_traces(
    canals: Canals,
    rng: Generator,
    *,
    conditions: ReadingConditions | None = None,
    file_size: npt.ArrayLike = 10,
    shaped: bool = False,
    meter: Meter | None = None,
) -> Traces:
    """Read n canals as a hand does that watches the display.

    It goes in with a rest on the way, ignores what comes long before the estimated length, turns
    when the foramen signal has stayed for a moment or where it will not go further, backs off,
    goes in again. Parameters as in `read_motion`; conditions are drawn by default.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> rng = np.random.default_rng(1)
    >>> traces = draw_traces(draw_canals("13", 3, rng), rng)
    >>> traces.record(0, stage="after_shaping").kind, len(traces.indicated)
    ('electronic_reading', 3)
    """
    n = len(canals)
    shape, file = line_shapes(canals, shaped=shaped), File(np.asarray(file_size) / 100)
    c, meter = (conditions or draw_conditions(n, rng)).every(n), _meter_of(meter, n, rng)
    estimate = rng.normal(0, m.ESTIMATE_SD_MM.value, (n, 1))  # past the foramen
    furthest = _furthest(shape, file)
    limit = np.minimum(estimate + m.BEYOND_ESTIMATE_MM.value, furthest)
    start = np.maximum(limit - m.APPROACH_MM.value, -shape.orifice_mm[:, None])
    inward = np.minimum(start + approach(m.APPROACH_MM.value), limit)
    turned = manoeuvre()
    samples = inward.shape[1] + turned.size
    step_s = 1 / rng.uniform(m.SLOWEST_HZ.value, m.FASTEST_HZ.value, n)
    disturbed = draw_disturbances(c, step_s, samples, rng)
    reach = np.concatenate([start - m.BACK_MM.value, limit], axis=1)
    reach = np.maximum(reach, -shape.orifice_mm[:, None])
    grid = quotient_grid(shape, file, c, meter.materials, reach, disturbed.touched)
    on_the_way = _shown(grid, meter.curve, inward, disturbed, step_s)
    turn = _turning(on_the_way, inward >= estimate - m.BELIEVED_WITHIN_MM.value)
    past = _with_turn(inward, turned, turn)
    past = np.maximum(past, -shape.orifice_mm[:, None])
    shown = _shown(grid, meter.curve, past, disturbed, step_s)
    stop = rng.normal(0, m.STOP_SD_MM.value, (n, 1))
    time = step_s[:, None] * np.arange(samples)
    return Traces(time, canals.foramen_mm[:, None] + past + stop, shown)


def _meter_of(meter: Meter | None, n: int, rng: Generator) -> Meter:
    """The meter that was asked for, or one drawn for n canals."""
    if meter is None:
        return draw_meters(n, rng)
    rows = {len(meter.curve), *(np.size(value) for value in vars(meter.materials).values())}
    if not rows <= {1, n}:
        raise ValueError(
            f"field meter: got one of {max(rows)} rows for {n} canals; allowed is one row, or one "
            "for each canal; take some of its rows"
        )
    return meter


def _furthest(shape: LineShape, file: File) -> Floats:
    """How far past the foramen (mm) the file goes in each canal, (n, 1); it has to go in at all."""
    furthest = furthest_past_mm(shape, file)
    shut = furthest < -shape.orifice_mm
    if shut.any():
        i = int(shut.argmax())
        size = float(np.broadcast_to(file.tip_diameter_mm, shut.shape)[i]) * 100
        raise ValueError(
            f"field file_size: got {size:g} for canal {i}; allowed is a size that is "
            "thinner than this canal at its orifice; take a thinner one"
        )
    return furthest[:, None]


def _possible(wanted: Floats, foramen: Floats, highest: Floats, furthest: Floats) -> None:
    """Refuse what no hand can do; a hand that would go further than the file goes just stops."""
    for wrong, why in (
        ((wanted < highest).any(axis=1), "the file would be above the orifice"),
        (wanted[:, 0] > furthest[:, 0], "the file binds before it gets there"),
    ):
        if wrong.any():
            i = int(wrong.argmax())
            low, high = (float((foramen + end)[i, 0]) for end in (highest, furthest))
            came = wanted[i] + foramen[i]
            raise ValueError(
                f"field depth_mm: got {came[0]:.2f} at first, {came.min():.2f} to {came.max():.2f} "
                f"in all: {why}; allowed is {low:.2f} to {high:.2f}; begin between them, or take a "
                "thinner file"
            )


def _shown(
    grid: QuotientGrid, curve: MeterCurve, past: Floats, disturbed: Disturbances, step_s: Floats
) -> Floats:
    """What the display says along a path (n, samples); NaN in the path gives NaN."""
    now = slice(0, past.shape[1])
    q = grid.along(past, disturbed.loose[:, now], disturbed.touched[:, now])
    q = lagged(np.where(disturbed.lost[:, now], np.nan, q), step_s)
    return curve.indicated(q + disturbed.noise[:, now])


def _turning(shown: Floats, believed: npt.NDArray[np.bool_]) -> npt.NDArray[np.intp]:
    """Sample at which the hand turns: the signal has stayed for as long as it takes to react."""
    wait = round(m.REACTION_SAMPLES.value)
    signal = (shown <= 0) & believed
    stayed = np.all(np.lib.stride_tricks.sliding_window_view(signal, wait, axis=1), axis=2)
    last = shown.shape[1] - 1
    return np.asarray(np.where(np.any(stayed, axis=1), stayed.argmax(axis=1) + wait - 1, last))


def _with_turn(inward: Floats, turned: Floats, turn: npt.NDArray[np.intp]) -> Floats:
    """Each way in up to its turn, and what follows from there; NaN after the end."""
    after = np.arange(inward.shape[1] + turned.size) - turn[:, None] - 1
    rows = np.arange(len(inward))
    before = np.pad(inward, ((0, 0), (0, turned.size)), constant_values=np.nan)
    then = turned[np.clip(after, 0, turned.size - 1)] + inward[rows, turn][:, None]
    then = np.where(after < turned.size, then, np.nan)
    return np.where(after < 0, before, then)
