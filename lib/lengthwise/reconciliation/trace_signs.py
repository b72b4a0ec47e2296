"""What can be counted on a trace: where the foramen signal came and went, and what was odd.

The signal comes where the indicated value falls to 0 while the file goes in, and is given up where
it rises again while the file comes out. What it does while the file rests, or against the file's
motion, it does by itself.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lengthwise.reference import traces as t

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class TraceNumbers:
    """Numbers of one trace. Depths in mm, indicated values in the display's own unit.

    Attributes
    ----------
    came_mm, went_mm : depths at which the signal came going in, and went coming out.
    width_mm : widest step of depth within which one of them lies.
    by_itself : how often it came or went without the file's doing.
    backward : how far the display went against the file's motion, for each mm that it moved.
    restless : root mean square of its change from sample to sample while the file rested.
    travelled, rested : whether the file was seen to move, and to rest, near the signal; where it
        was not, `backward` and `restless` are 0 for want of anything seen.
    jumps : how often it changed by more than `JUMP` between two samples.
    lowest : the lowest value, least near the foramen signal where that was hardly reached.
    short_of, further_short : what it showed a little and a millimetre short of the signal; None
        where the file was not seen to pass there.
    """

    came_mm: Floats
    went_mm: Floats
    width_mm: float
    by_itself: int
    backward: float
    restless: float
    travelled: bool
    rested: bool
    jumps: int
    lowest: float
    short_of: float | None
    further_short: float | None

    @property
    def signal_mm(self) -> float | None:
        """Depth of the foramen signal: midway between coming and going, so that a lag cancels."""
        ways = [float(np.median(ds)) for ds in (self.came_mm, self.went_mm) if ds.size]
        return float(np.mean(ways)) if ways else None

    @property
    def apart_mm(self) -> float:
        """Between the furthest signals of the same way, 0 where none was tried twice."""
        return max(float(np.ptp(ds)) if ds.size else 0.0 for ds in (self.came_mm, self.went_mm))

    @property
    def tried_again(self) -> bool:
        """Whether the signal came twice and was given up in between."""
        return self.came_mm.size >= 2 and self.went_mm.size >= 1


def numbers_of(time_s: Floats, depth_mm: Floats, indicated: Floats) -> TraceNumbers:
    """Count on a trace; three arrays (samples,), NaN in `indicated` where nothing was shown.

    Examples
    --------
    >>> depth = np.concatenate([np.arange(22, 25.4, 0.1), np.arange(25.3, 24.5, -0.1)])
    >>> numbers = numbers_of(0.1 * np.arange(depth.size), depth, np.clip(25 - depth, -0.5, 3))
    >>> round(numbers.signal_mm, 2), numbers.by_itself, round(numbers.further_short, 2)
    (25.0, 0, 1.0)
    """
    known = np.isfinite(indicated)
    time, depth, shown = time_s[known], depth_mm[known], indicated[known]
    step_s, moved, changed = np.diff(time), np.diff(depth), np.diff(shown)
    followed = step_s <= t.LONGEST_GAP_S.value
    moving = followed & (np.abs(moved) > t.MOVES_MM_PER_S.value * step_s)
    near = (np.minimum(shown[:-1], shown[1:]) < t.NEAR.value) & followed
    comes, goes = _turns(shown)
    came, own_in = comes[(moving & (moved > 0))[comes]], comes[followed[comes]]
    went, own_out = goes[(moving & (moved < 0))[goes]], goes[followed[goes]]
    saturated = _saturated(shown)
    came_mm, came_width = _where(came, depth, shown, saturated)
    went_mm, went_width = _where(went, depth, shown, saturated)
    travel = near & moving
    against = travel & (np.sign(changed) == np.sign(moved))
    rests = near & ~moving
    bare = TraceNumbers(
        came_mm=came_mm,
        went_mm=went_mm,
        width_mm=float(np.max(np.concatenate([came_width, went_width]), initial=0.0)),
        by_itself=len(own_in) + len(own_out) - len(came) - len(went),
        backward=float(
            np.abs(changed[against]).sum()
            / max(np.abs(moved[travel]).sum(), t.LEAST_TRAVEL_MM.value)
        ),
        restless=float(np.sqrt(np.mean(changed[rests] ** 2))) if rests.any() else 0.0,
        travelled=bool(travel.any()),
        rested=bool(rests.any()),
        jumps=int(np.sum(np.abs(changed[near]) > t.JUMP.value)),
        lowest=float(shown.min()),
        short_of=None,
        further_short=None,
    )
    signal = bare.signal_mm
    if signal is None:
        return bare
    short_of, further = (
        _shown_at(signal - short.value, depth, shown, moving)
        for short in (t.A_LITTLE_SHORT_MM, t.FURTHER_SHORT_MM)
    )
    return replace(bare, short_of=short_of, further_short=further)


def _turns(shown: Floats) -> tuple[Indices, Indices]:
    """Steps in which the signal comes, and in which it goes; a flutter about 0 is one signal."""
    state = np.where(shown <= 0, 1, np.where(shown >= t.GIVEN_UP.value, 0, -1))
    last = np.maximum.accumulate(np.where(state >= 0, np.arange(state.size), 0))
    on = state[last] == 1
    comes = np.flatnonzero(~on[:-1] & on[1:])
    left = np.flatnonzero(on[:-1] & ~on[1:])
    # It went where it was last at 0, not where it had clearly gone.
    at_zero = np.maximum.accumulate(np.where(shown <= 0, np.arange(shown.size), 0))
    return comes, at_zero[left]


def _saturated(shown: Floats) -> npt.NDArray[np.bool_]:
    """Where the display stands at its end: the extreme value, and that more than once."""
    ends = np.zeros(shown.size, dtype=np.bool_)
    for extreme in (shown.min(), shown.max()):
        at = shown == extreme
        if at.sum() > 1:
            ends |= at
    return ends


def _where(
    steps: Indices, depth: Floats, shown: Floats, saturated: npt.NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Depth of 0 within each of these steps, and how wide the step is.

    A saturated value says which side of 0 it is on and no more: then the middle is taken.
    """
    d0, d1, s0, s1 = depth[steps], depth[steps + 1], shown[steps], shown[steps + 1]
    share = np.divide(s0, s0 - s1, out=np.full_like(s0, 0.5), where=s0 != s1)
    only_a_side = saturated[steps] | saturated[steps + 1]
    share = np.where(only_a_side, 0.5, share)
    return d0 + share * (d1 - d0), np.abs(d1 - d0)


def _shown_at(
    place_mm: float, depth: Floats, shown: Floats, moving: npt.NDArray[np.bool_]
) -> float | None:
    """Median of what was shown whenever a moving file passed a depth, None if it never did."""
    before, after = depth[:-1] - place_mm, depth[1:] - place_mm
    passes = np.flatnonzero(moving & (before * after <= 0) & (before != after))
    if not passes.size:
        return None
    share = before[passes] / (before[passes] - after[passes])
    return float(np.median(shown[passes] + share * (shown[passes + 1] - shown[passes])))
