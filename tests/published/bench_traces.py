"""Traces of the simulated patient in canals that nothing was fitted to, and what became of them."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from lengthwise.anatomy.canals import Canals, draw_canals
from lengthwise.bench.meter import Meter, Traces, draw_meters, draw_traces
from lengthwise.bench.meter_conditions import ReadingConditions, draw_conditions
from lengthwise.bench.meter_grid import quotient_grid
from lengthwise.bench.meter_line import line_shapes
from lengthwise.physics.impedance import furthest_past_mm
from lengthwise.physics.line import File
from lengthwise.reconciliation.trace_quality import TraceQuality, assess_trace, usual_offset_mm
from lengthwise.reference import traces as t
from scipy.stats import mannwhitneyu

# Other kinds of tooth than those that make/trace_quality.py learns from, and another seed.
TEETH = (("12", None), ("13", None), ("14", None), ("43", None),
         ("45", None), ("31", None), ("46", "MB"), ("17", "P"))  # fmt: skip
EACH = 500
STEADY_MM = 0.3


@dataclass(frozen=True)
class Judged:
    """Traces (n,): where the signal came (mm past the foramen), trust, and what was true."""

    quality: tuple[TraceQuality, ...]
    rules: dict[str, np.ndarray]
    off_mm: np.ndarray
    steady: np.ndarray

    @property
    def trust(self):
        return np.array([q.usable for q in self.quality])

    @property
    def reached(self):
        return np.isfinite(self.off_mm)

    @property
    def usable(self):
        with np.errstate(invalid="ignore"):
            return np.abs(self.off_mm) <= t.CLOSE_ENOUGH_MM.value

    @property
    def steady_short(self):
        """Unusable, short, and by nothing that changes in time: invisible in a trace."""
        return self.steady & ~self.usable & (self.off_mm < 0)

    @property
    def steady_wrong(self):
        return self.steady & ~self.usable


@cache
def judged() -> Judged:
    rng = np.random.default_rng(202)
    every = [_of_tooth(tooth, canal, rng) for tooth, canal in TEETH]
    return Judged(
        quality=tuple(q for each in every for q in each.quality),
        rules={k: np.concatenate([each.rules[k] for each in every]) for k in every[0].rules},
        off_mm=np.concatenate([each.off_mm for each in every]),
        steady=np.concatenate([each.steady for each in every]),
    )


def _of_tooth(tooth, canal, rng) -> Judged:
    canals = draw_canals(tooth, EACH, rng, canal=canal)
    sizes = rng.choice((8, 10, 15), EACH, p=(0.2, 0.5, 0.3))
    conditions, meter = draw_conditions(EACH, rng), draw_meters(EACH, rng)
    traces = draw_traces(canals, rng, conditions=conditions, meter=meter, file_size=sizes)
    records = [traces.record(i) for i in range(EACH)]
    quality = tuple(assess_trace(record) for record in records)
    off = off_mm(quality, canals)
    wrong = np.flatnonzero(np.abs(off) > t.CLOSE_ENOUGH_MM.value)
    steady = np.zeros(EACH, dtype=bool)
    signal = off + usual_offset_mm()
    steady[wrong] = comes_by_itself(
        canals.some(wrong), sizes[wrong], conditions.some(wrong), meter.some(wrong), signal[wrong]
    )
    return Judged(quality, simple_rules(traces), off, steady)


def off_mm(quality, canals) -> np.ndarray:
    """Implied foramen less foramen (mm), NaN without a signal."""
    implied = [np.nan if q.foramen_mm is None else q.foramen_mm for q in quality]
    return np.array(implied) - canals.foramen_mm


def comes_by_itself(
    canals: Canals, sizes, conditions: ReadingConditions, meter: Meter, signal_past_mm
) -> np.ndarray:
    """Whether a canal in which nothing changes gives its signal at this place too."""
    shape, file = line_shapes(canals, shaped=False), File(sizes / 100)
    n = len(canals)
    reach = np.tile([-9.0, 3.0], (n, 1))
    furthest = furthest_past_mm(shape, file)[:, None]
    reach = np.clip(reach, -shape.orifice_mm[:, None], furthest)
    grid = quotient_grid(
        shape, file, conditions, meter.materials, reach, np.zeros((n, 1), dtype=bool)
    )
    still = np.nan_to_num((grid.thin + grid.thick) / 2, nan=1.0)
    shown, past = meter.curve.indicated(still), grid.past_mm
    crosses = (shown[:, 1:] <= 0) != (shown[:, :-1] <= 0)
    fall = np.where(shown[:, :-1] == shown[:, 1:], 1.0, shown[:, :-1] - shown[:, 1:])
    where = past[:, :-1] + np.diff(past, axis=1) * shown[:, :-1] / fall
    apart = np.where(crosses, np.abs(where - signal_past_mm[:, None]), np.inf)
    return apart.min(axis=1) < STEADY_MM


def simple_rules(traces: Traces) -> dict[str, np.ndarray]:
    """Three rules that need no model: reached at all; no jumps; the last value is past 0.5."""
    shown = traces.indicated
    with np.errstate(invalid="ignore"):
        reached = (shown <= 0).any(axis=1)
        changes = np.abs(np.diff(shown, axis=1))
        jumps = np.nanmax(np.where(shown[:, 1:] < t.NEAR.value, changes, 0.0), axis=1)
    last = np.array([row[np.isfinite(row)][-1] if np.isfinite(row).any() else 9.0 for row in shown])
    return {
        "reached at all": reached.astype(float),
        "reached without jumps": np.where(reached, 1 - jumps, -9.0),
        "last value near a millimetre": -np.abs(last - 1.0),
    }


def auc(score, good) -> float:
    """Area under the receiver's curve (Mann & Whitney 1947)."""
    return float(mannwhitneyu(score[good], score[~good]).statistic / good.sum() / (~good).sum())
