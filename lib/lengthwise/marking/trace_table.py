"""A foramen signal as the trace that a student is given to judge.

Until the meter is simulated from physics, a trace is drawn around the signal that the sampler
gave: a steady one follows the file and repeats; an erratic one jumps and does not. A reading
that is steady but early looks exactly like a sound one, which is the point of it.
"""

import numpy as np

from lengthwise.evidence import ElectronicReading

STEP_S = 0.5
SHORTEST_SHOWN, LONGEST_SHOWN = -0.5, 3.0
"""The display saturates: it shows nothing beyond half a unit past and three units short."""


def trace_around(signal_mm: float, erratic: bool, rng: np.random.Generator) -> ElectronicReading:
    """A trace in which the file goes in, backs off, and goes in again.

    Parameters
    ----------
    signal_mm : float
        Depth at which the foramen signal comes (mm).
    erratic : bool
        Whether the circuit is broken again and again.
    rng : Generator
        Source of randomness.

    Examples
    --------
    >>> trace = trace_around(25.0, False, np.random.default_rng(1))
    >>> len(trace.time_s) == len(trace.depth_mm) == len(trace.indicated)
    True
    """
    around = round(signal_mm * 4) / 4
    inward = around + np.arange(-2.5, 0.51, 0.5)
    back = around + np.array([0.25, 0.0, -0.5, -1.0])
    again = around + np.array([-1.0, -0.5, 0.0, 0.25, 0.5])
    depth = np.concatenate([inward, back, again])
    shown = 1.2 * (signal_mm - depth) + rng.normal(0, 0.03, depth.size)
    if erratic:
        shown = shown + rng.normal(0, 1.2, depth.size)
    clipped = np.clip(shown, SHORTEST_SHOWN, LONGEST_SHOWN)
    lost = erratic & (rng.random(depth.size) < 0.15)
    return ElectronicReading(
        time_s=tuple(float(t) for t in STEP_S * np.arange(depth.size)),
        depth_mm=tuple(float(d) for d in depth),
        indicated=tuple(
            None if gone else round(float(value), 2)
            for gone, value in zip(lost, clipped, strict=True)
        ),
    )
