"""Foramen signals as the traces that a student is given to judge; every trace is the meter's.

A trace of another canal of the same kind is moved along the canal until its signal lies where it
has to. A reading that is steady but early looks exactly like a sound one, which is the point of it.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.meter import draw_meters, draw_traces
from lengthwise.bench.meter_conditions import draw_conditions
from lengthwise.evidence import ElectronicReading
from lengthwise.reconciliation.trace_quality import TraceQuality, assess_trace

AT_ONCE, MOST_ROUNDS = 12, 200
"""So many canals are read before one is looked for whose traces are of the kind that is wanted, and
so often before it is said that there is none."""

STEADY_FROM, ERRATIC_TO = 0.7, 0.6
"""A steady trace is at least this usable, an erratic one at most."""


def traces_at(
    signals_mm: Sequence[float],
    tooth: str,
    canal: str,
    *,
    erratic: bool,
    bloody: bool,
    rng: np.random.Generator,
) -> list[ElectronicReading]:
    """Traces of one sitting, one for each foramen signal, rounded as they stand in a chart.

    Parameters
    ----------
    signals_mm : sequence of float
        Depths at which the foramen signal comes (mm).
    tooth, canal : str
        Whose canals are read.
    erratic : bool
        Whether all traces show that they mislead, or none does.
    bloody : bool
        Whether the canal is full of blood.
    rng : Generator
        Source of randomness.

    Raises
    ------
    RuntimeError
        None of the canals read gives such traces.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> (trace,) = traces_at([25.0], "13", "single", erratic=False, bloody=False, rng=rng)
    >>> abs(assess_trace(trace).signal_mm - 25.0) < 0.02
    True
    """

    def wanted(quality: TraceQuality) -> bool:
        if quality.signal_mm is None:
            return False
        return quality.usable <= ERRATIC_TO if erratic else quality.usable >= STEADY_FROM

    for _ in range(MOST_ROUNDS):
        canals = draw_canals(tooth, AT_ONCE, rng, canal=canal)
        conditions, meter = draw_conditions(AT_ONCE, rng), draw_meters(AT_ONCE, rng)
        if bloody:
            conditions = replace(conditions, blood_share=1.0)
        takes = [draw_traces(canals, rng, conditions=conditions, meter=meter) for _ in signals_mm]
        for i in range(AT_ONCE):
            traces = [take.record(i) for take in takes]
            seen = [assess_trace(trace) for trace in traces]
            if all(wanted(quality) for quality in seen):
                return [
                    _moved(trace, to_mm - (quality.signal_mm or 0.0))
                    for trace, quality, to_mm in zip(traces, seen, signals_mm, strict=True)
                ]
    raise RuntimeError(
        f"none of {MOST_ROUNDS * AT_ONCE} canals of tooth {tooth} gives traces that are all "
        f"{'erratic' if erratic else 'steady'}"
    )


def _moved(trace: ElectronicReading, by_mm: float) -> ElectronicReading:
    return ElectronicReading(
        time_s=tuple(round(t, 2) for t in trace.time_s or ()),
        depth_mm=tuple(round(d + by_mm, 2) for d in trace.depth_mm or ()),
        indicated=tuple(None if v is None else round(v, 2) for v in trace.indicated or ()),
    )
