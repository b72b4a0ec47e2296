"""Can this electronic trace be used? Three signs, and the depth at which the foramen signal came.

A first form: the signs are measured on the trace, and their weights are judged, not fitted.
A reading that is steady but early looks perfect here; only other sources can show it up.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lengthwise.evidence import ElectronicReading

Floats = npt.NDArray[np.float64]

MOVED_MM = 0.02
"""The file moved between two samples when its depth changed by more than this."""

EXPLAINED_PER_MM = 5.0
"""On the steepest part of the curve the indicated value changes by this much in a millimetre."""

JUMP = 0.6
"""An unexplained change between two samples that a reader would call a jump."""

REPEATABLE_MM = 0.3
"""Foramen signals further apart than this do not repeat."""


@dataclass(frozen=True)
class Sign:
    """One sign of a usable trace: does it hold, the number behind it, and a plain sentence."""

    holds: bool
    number: float
    sentence: str


@dataclass(frozen=True)
class TraceQuality:
    """What a trace shows.

    Attributes
    ----------
    usable : probability that the trace can be used, 0 to 1.
    signal_mm : depth at which the foramen signal came, None when it never did.
    signal_sd_mm : standard uncertainty of that depth from the trace alone.
    steady, follows, repeats : the three signs.
    """

    usable: float
    signal_mm: float | None
    signal_sd_mm: float | None
    steady: Sign
    follows: Sign
    repeats: Sign

    @property
    def signs(self) -> tuple[Sign, Sign, Sign]:
        """The three signs in the order in which they are looked for."""
        return self.steady, self.follows, self.repeats


def assess_trace(reading: ElectronicReading) -> TraceQuality:
    """Judge the trace of a reading.

    A reading without a trace cannot be judged: `ValueError`.

    Examples
    --------
    >>> down = [22.0 + 0.1 * i for i in range(36)]
    >>> up = [25.4 - 0.1 * i for i in range(6)]
    >>> trace = ElectronicReading(
    ...     time_s=tuple(0.1 * i for i in range(42)), depth_mm=tuple(down + up),
    ...     indicated=tuple(max(-0.5, min(3.0, 25.0 - d)) for d in down + up))
    >>> quality = assess_trace(trace)
    >>> round(quality.signal_mm, 2), quality.usable > 0.9
    (25.0, True)
    """
    if reading.time_s is None or reading.depth_mm is None or reading.indicated is None:
        raise ValueError(
            "field time_s: missing; a trace has time_s, depth_mm and indicated; a foramen signal "
            "alone cannot be judged"
        )
    depth = np.array(reading.depth_mm)
    shown = np.array([np.nan if value is None else value for value in reading.indicated])
    known = np.isfinite(shown)
    if known.sum() < 3 or np.ptp(depth) <= MOVED_MM:
        why = "the meter showed almost nothing" if known.sum() < 3 else "the file did not move"
        unjudged = Sign(False, float("nan"), f"Cannot be judged: {why}.")
        return TraceQuality(0.0, None, None, unjudged, unjudged, unjudged)

    both = known[1:] & known[:-1]
    moved = np.abs(np.diff(depth))[both]
    changed = np.abs(np.diff(shown))[both]
    unexplained = np.maximum(changed - EXPLAINED_PER_MM * moved, 0.0)
    jumps = float((unexplained > JUMP).mean()) if both.any() else 1.0
    still = moved <= MOVED_MM
    restless = float(changed[still].mean()) if still.any() else 0.0
    signals = _signal_depths(depth, shown)
    return TraceQuality(
        usable=_usable(jumps, restless, signals, float(1 - known.mean())),
        signal_mm=float(signals.mean()) if signals.size else None,
        signal_sd_mm=_signal_sd(signals) if signals.size else None,
        steady=Sign(
            jumps < 0.02,
            jumps,
            f"It jumps in {jumps:.0%} of its steps."
            if jumps >= 0.02
            else "It advances without jumps.",
        ),
        follows=Sign(
            restless < 0.1,
            restless,
            f"It moves by {restless:.1f} a sample while the file stands still."
            if restless >= 0.1
            else "It stands still when the file does.",
        ),
        repeats=_repeats(signals),
    )


def _signal_depths(depth: Floats, shown: Floats) -> Floats:
    """Depths (mm) at which the indicated value crosses zero, either way."""
    known = np.isfinite(shown)
    d, s = depth[known], shown[known]
    crossing = np.flatnonzero((s[1:] > 0) != (s[:-1] > 0))
    before, after = s[crossing], s[crossing + 1]
    return np.asarray(d[crossing] + (d[crossing + 1] - d[crossing]) * before / (before - after))


def _signal_sd(signals: Floats) -> float:
    """A single crossing is known to a tenth; several show their own scatter."""
    if signals.size < 2:
        return 0.1
    return float(max(signals.std(ddof=1) / np.sqrt(signals.size), 0.05))


def _repeats(signals: Floats) -> Sign:
    if not signals.size:
        return Sign(False, float("nan"), "It never reaches the foramen signal.")
    apart = float(np.ptp(signals))
    if signals.size == 1:
        return Sign(False, apart, "It reaches the foramen signal once and is not tried again.")
    if apart > REPEATABLE_MM:
        return Sign(False, apart, f"Its foramen signals are {apart:.1f} mm apart.")
    return Sign(True, apart, "It reaches the foramen signal and gives it up at the same depth.")


def _usable(jumps: float, restless: float, signals: Floats, lost: float) -> float:
    """Logistic in the signs. The weights say how many of each make a trace doubtful (judged)."""
    if not signals.size:
        return 0.0
    apart = float(np.ptp(signals))
    once = 1.0 if signals.size == 1 else 0.0
    score = 4.0 - 40.0 * jumps - 8.0 * restless - 4.0 * apart - 1.0 * once - 6.0 * lost
    return float(1 / (1 + np.exp(-score)))
