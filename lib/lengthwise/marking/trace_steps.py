"""A trace in steps, for who cannot see its picture: what the file did, and what was shown."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lengthwise.evidence import ElectronicReading

from .sheet import Sheet

Floats = npt.NDArray[np.float64]

STEP_MM = 0.25
"""A file that moves is told about every quarter of a millimetre."""

_DOES = {1: "goes in", 0: "rests", -1: "comes out"}


@dataclass(frozen=True)
class TraceStep:
    """Some samples in a row during which the file goes in (1), rests (0) or comes out (-1).

    `shown` holds the indicated values, NaN where there was none.
    """

    way: int
    time_s: Floats
    depth_mm: Floats
    shown: Floats

    @property
    def row(self) -> tuple[str, ...]:
        """The step as a row of the table."""
        d0, d1 = self.depth_mm[0], self.depth_mm[-1]
        where = f"{_DOES[self.way]}, {d0:.2f} to {d1:.2f}" if self.way else f"rests at {d0:.2f}"
        known = self.shown[np.isfinite(self.shown)]
        times = f"{self.time_s[0]:.1f} to {self.time_s[-1]:.1f}"
        if not known.size:
            return times, where, "nothing", "nothing"
        gap = ", with a gap" if known.size < self.shown.size else ""
        first, last, low, high = (
            f"{v:.2f}".replace("-0.00", "0.00")
            for v in (known[0], known[-1], known.min(), known.max())
        )
        return times, where, f"{first} to {last}{gap}", f"{low} to {high}"


def trace_steps(reading: ElectronicReading) -> list[TraceStep]:
    """The trace cut where the file begins to move, turns or rests, and after each `STEP_MM`.

    Neighbours share a sample, so that nothing is lost between them.

    Examples
    --------
    >>> reading = ElectronicReading(
    ...     time_s=(0, 1, 2, 3), depth_mm=(22.0, 22.2, 22.4, 22.4), indicated=(1.0, 0.8, 0.6, 0.6))
    >>> [step.way for step in trace_steps(reading)]
    [1, 0]
    """
    time, depth = np.asarray(reading.time_s, float), np.asarray(reading.depth_mm, float)
    shown = np.array([np.nan if v is None else v for v in reading.indicated or ()])
    ways = np.sign(np.diff(depth)).astype(int)
    cuts, begun = [0], depth[0]
    for i in range(1, len(ways)):
        if ways[i] != ways[i - 1] or abs(depth[i] - begun) >= STEP_MM:
            cuts.append(i)
            begun = depth[i]
    parts = zip(cuts, [*cuts[1:], len(ways)], strict=True)
    return [
        TraceStep(int(ways[a]), time[a : b + 1], depth[a : b + 1], shown[a : b + 1])
        for a, b in parts
    ]


def trace_sheet(reading: ElectronicReading) -> Sheet:
    """The table of a trace."""
    heads = ("time (s)", "the file (mm)", "indicated, first to last", "lowest to highest")
    rows = tuple(step.row for step in trace_steps(reading))
    return Sheet("The trace in steps", heads, rows)
