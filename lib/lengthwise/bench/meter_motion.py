"""How a hand moves a file while it watches the display: in, stop, back off, in again."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lengthwise.reference import meter as m

Floats = npt.NDArray[np.float64]

MOST_UNEVEN = 1.5
"""Longest step over the shortest: moments that are rounded to hundredths are still even."""


@dataclass(frozen=True, eq=False)
class Motion:
    """Depths (mm from the reference point) at moments (s) evenly apart, both (samples,).

    Raises
    ------
    ValueError
        Fewer than two samples, unequal lists, or time that does not grow evenly.

    Examples
    --------
    >>> Motion(np.array([0.0, 0.1]), np.array([22.0, 22.1])).depth_mm.tolist()
    [22.0, 22.1]
    """

    time_s: Floats
    depth_mm: Floats

    def __post_init__(self) -> None:
        for name in ("time_s", "depth_mm"):
            object.__setattr__(self, name, np.asarray(getattr(self, name), dtype=np.float64))
        time, depth = self.time_s, self.depth_mm
        if time.ndim != 1 or time.shape != depth.shape or time.size < 2:
            raise ValueError(
                f"field time_s/depth_mm: got shapes {time.shape} and {depth.shape}; allowed are "
                "two lists of one length, of 2 samples or more; give a depth for every moment"
            )
        if not (np.all(np.isfinite(depth)) and np.all(np.diff(time) > 0)):
            raise ValueError(
                "field time_s: does not grow, or a depth is missing; allowed is time that grows "
                "and a depth at every moment; sort the samples"
            )
        step = np.diff(time)
        if step.max() > MOST_UNEVEN * step.min():
            raise ValueError(
                f"field time_s: got steps of {step.min():g} to {step.max():g} s; allowed are even "
                "ones, as a meter samples; give the depth in a pause as well"
            )


def default_motion(to_mm: float, *, from_mm: float | None = None, hz: float = 10.0) -> Motion:
    """In, a rest on the way, on to `to_mm`, a rest, back off, in again, a rest, back off.

    Parameters
    ----------
    to_mm : float
        Furthest depth (mm).
    from_mm : float, optional
        Where it begins (mm), less than `to_mm`; `APPROACH_MM` less by default.
    hz : float
        Samples a second, above 0.

    Examples
    --------
    >>> motion = default_motion(25.0)
    >>> float(motion.depth_mm[0]), float(motion.depth_mm.max()), motion.time_s.size
    (20.5, 25.0, 301)
    """
    if not hz > 0:
        raise ValueError(f"field hz: got {hz:g}; allowed is above 0; 10 to 20 is usual")
    start = to_mm - m.APPROACH_MM.value if from_mm is None else from_mm
    if not start < to_mm:
        raise ValueError(
            f"field from_mm: got {start:g}; allowed is less than {to_mm:g}, where the motion "
            "ends; begin further out"
        )
    inward = start + approach(to_mm - start)
    depth = np.concatenate([inward, inward[-1] + manoeuvre()])
    return Motion(np.arange(depth.size) / hz, depth)


def motion_through(depths_mm: npt.ArrayLike, *, hz: float = 10.0) -> Motion:
    """The given depths (mm), one a sample.

    >>> motion_through([22.0, 23.0]).time_s.tolist()
    [0.0, 0.1]
    """
    depths = np.atleast_1d(np.asarray(depths_mm, dtype=np.float64))
    return Motion(np.arange(depths.size) / hz, depths)


def approach(length_mm: float) -> Floats:
    """Way in (mm from its beginning) for each sample, with a rest before its end."""
    way = np.append(np.arange(0.0, length_mm, m.STEP_MM.value), length_mm)
    pause = np.searchsorted(way, max(length_mm - m.WAY_STOP_MM.value, 0.0))
    return np.insert(way, pause, np.full(round(m.REST_SAMPLES.value), way[pause]))


def manoeuvre() -> Floats:
    """Depths (mm) from the furthest place on: rest, back off, rest, in again, rest, back off."""
    rest = np.zeros(round(m.REST_SAMPLES.value))
    back = -np.append(np.arange(m.STEP_MM.value, m.BACK_MM.value, m.STEP_MM.value), m.BACK_MM.value)
    again = np.append(back[-2::-1], 0.0)
    return np.concatenate([rest, back, rest + back[-1], again, rest, back])
