"""Can this electronic trace be used, and where does it put the foramen?

A trace can be used if the depth that it implies lies within half a millimetre of the foramen. How
likely that is was learnt from traces of the simulated patient (`datasets/trace_weights.csv`): from
three signs that anybody can look for, and from what the display showed a little short of the
signal. A reading that is steady but early looks perfect here; only other sources can show it up.
"""

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import expit

from lengthwise.evidence import ElectronicReading
from lengthwise.reference import constants as c
from lengthwise.reference import readings
from lengthwise.reference import traces as t
from lengthwise.reference.files import read_rows

from .trace_signs import TraceNumbers, numbers_of

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Sign:
    """One sign of a usable trace: does it hold, the number behind it, and a plain sentence.

    It holds where nothing was seen against it; what was not seen at all, the sentence says.
    """

    holds: bool
    number: float
    sentence: str


@dataclass(frozen=True)
class TraceQuality:
    """What a trace shows.

    Attributes
    ----------
    usable : probability that the foramen lies within 0.5 mm of `foramen_mm`; 0 without a signal.
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

    @property
    def foramen_mm(self) -> float | None:
        """Depth (mm) of the foramen that the signal implies in a canal that nothing is known of."""
        return None if self.signal_mm is None else self.signal_mm - usual_offset_mm()

    @property
    def foramen_sd_mm(self) -> float | None:
        """Its standard uncertainty (mm): canals differ, and the trace may be one that misleads."""
        if self.signal_sd_mm is None:
            return None
        width = c.FORAMEN_DIAMETER_MM.value * c.FORAMEN_DIAMETER_LOG_SD.value
        own = (
            readings.BETWEEN_CANALS_SD_MM.value,
            readings.SHORT_PER_MM_WIDER.value * width,
        )
        share = readings.STABLE_SHORT_SHARE.value
        early, erratic = readings.EARLY_MEAN_MM.value, readings.ERRATIC_SD_MM.value
        unsound = 2 * share * early**2 + (1 - share) * erratic**2  # mean squares of the two
        # The likelier a trace misleads, the further: hence the square, met on the bench.
        return float(
            np.linalg.norm([self.signal_sd_mm, *own, (1 - self.usable) * np.sqrt(unsound)])
        )


def usual_offset_mm() -> float:
    """Foramen signal less foramen (mm) in the middle of all canals; positive is past."""
    wider = c.FORAMEN_DIAMETER_MM.value - readings.CALIBRATION_DIAMETER_MM.value
    return readings.LATE_MM.value - readings.SHORT_PER_MM_WIDER.value * wider


@lru_cache(maxsize=128)  # a case asks again and again for the few traces that it holds
def assess_trace(reading: ElectronicReading) -> TraceQuality:
    """Judge the trace of a reading.

    A reading without a trace cannot be judged: `ValueError`.

    Examples
    --------
    >>> down, up = [22.0 + 0.1 * i for i in range(34)], [25.3 - 0.1 * i for i in range(10)]
    >>> depth = down + up + up[::-1] + up
    >>> trace = ElectronicReading(
    ...     time_s=tuple(0.2 * i for i in range(len(depth))), depth_mm=tuple(depth),
    ...     indicated=tuple(max(-0.5, min(3.0, 25.0 - d)) for d in depth))
    >>> quality = assess_trace(trace)
    >>> round(quality.signal_mm, 2), quality.usable > 0.8
    (25.0, True)
    """
    if reading.time_s is None or reading.depth_mm is None or reading.indicated is None:
        raise ValueError(
            "field time_s: missing; a reading can be judged only by its trace (time_s, depth_mm, "
            "indicated); record the trace, or take the foramen signal as it is"
        )
    time, depth = np.array(reading.time_s), np.array(reading.depth_mm)
    shown = np.array([np.nan if v is None else v for v in reading.indicated])
    known = np.isfinite(shown)
    if known.sum() < t.FEWEST_SAMPLES.value:
        return _cannot("it shows fewer values than a motion in and out needs")
    if np.ptp(depth[known]) < t.LEAST_DEPTHS_MM.value:
        return _cannot("the file did not move while values were shown")
    numbers = numbers_of(time, depth, shown)
    return TraceQuality(
        usable=_usable(numbers),
        signal_mm=numbers.signal_mm,
        signal_sd_mm=_signal_sd_mm(numbers),
        steady=_steady(numbers),
        follows=_follows(numbers),
        repeats=_repeats(numbers),
    )


def features_of(numbers: TraceNumbers) -> dict[str, float]:
    """The terms that the probability is made of, each about as large as 1.

    Powers and ceilings keep one wild number from outvoting all others. Jumps and restlessness as
    such have no term: on the bench they cost nothing where the signal comes back at one depth.
    """
    little, further = numbers.short_of, numbers.further_short
    steep = 1.0 if little is None else float(np.clip(little / t.A_LITTLE_SHORT_MM.value, 0, 4))
    far = 1.0 if further is None else float(np.clip(further, -0.5, 3.0))
    return {
        "one": 1.0,
        "backward": min(numbers.backward, 4.0) ** 0.5,
        "by_itself": min(numbers.by_itself, 25) ** 0.5,
        "apart": min(numbers.apart_mm, 1.5) ** 0.5,
        "not_tried_again": float(not numbers.tried_again),
        "never_given_up": float(numbers.went_mm.size == 0),
        "barely_reached": max(numbers.lowest, -0.5) + 0.5,
        "steep": steep,
        "steep_squared": (steep - 1.0) ** 2,
        "further": far,
        "further_squared": (far - 1.0) ** 2,
        "never_further_short": float(further is None),
    }


def _usable(numbers: TraceNumbers) -> float:
    if numbers.signal_mm is None:
        return 0.0
    features, weights = features_of(numbers), _weights()
    return float(expit(sum(weights[name] * value for name, value in features.items())))


@cache
def _weights() -> dict[str, float]:
    return {row["id"]: float(row["weight"]) for row in read_rows("trace_weights")}


def _signal_sd_mm(numbers: TraceNumbers) -> float | None:
    """From repeats, the widest step, and a lag that did not cancel."""
    ways = [ds for ds in (numbers.came_mm, numbers.went_mm) if ds.size]
    if not ways:
        return None
    off = np.concatenate([ds - ds.mean() for ds in ways])
    free = max(off.size - len(ways), 1)
    return float(
        np.linalg.norm(
            [
                t.LEAST_SIGNAL_SD_MM.value,
                np.sqrt(np.sum(off**2) / free / off.size),
                numbers.width_mm / np.sqrt(12),
                t.ONE_WAY_SD_MM.value * (len(ways) == 1),
            ]
        )
    )


def _cannot(why: str) -> TraceQuality:
    sign = Sign(False, float("nan"), f"Cannot be judged: {why}.")
    return TraceQuality(0.0, None, None, sign, sign, sign)


def _steady(numbers: TraceNumbers) -> Sign:
    holds = numbers.backward < t.BACKWARD_HOLDS.value and numbers.jumps == 0
    if holds and numbers.travelled:
        return Sign(True, numbers.backward, "It advances without jumps.")
    if holds:
        return Sign(True, numbers.backward, f"It was not seen to jump, but {_NEAR} it was not "
                    "seen to advance.")  # fmt: skip
    jumps = [f"jumps {_times(numbers.jumps)}"] if numbers.jumps else []
    back = f"{numbers.backward:.1f}"
    runs = [f"runs back by {back} for each millimetre of motion"] if float(back) else []
    return Sign(False, numbers.backward, f"It {' and '.join(jumps + runs)}.")


_NEAR = "near the foramen signal"


def _follows(numbers: TraceNumbers) -> Sign:
    if numbers.restless < t.RESTLESS_HOLDS.value and numbers.by_itself == 0:
        return Sign(True, numbers.restless, _FOLLOWS[numbers.travelled, numbers.rested])
    itself = f"The signal comes or goes {_times(numbers.by_itself)} without the file."
    moves = f"{numbers.restless:.2f}"
    rests = f"While the file rests it moves by {moves} from sample to sample."
    seen = [itself] * bool(numbers.by_itself) + [rests] * bool(float(moves))
    return Sign(False, numbers.restless, " ".join(seen))


_FOLLOWS = {
    (True, True): "It moves when the file moves, and stands still when the file does.",
    (True, False): f"It moves when the file moves; {_NEAR} the file was not seen to rest.",
    (False, True): f"It stands still when the file does; {_NEAR} the file was not seen to move.",
    (False, False): "It was not seen near the foramen signal.",
}
"""What a trace shows of following the file, by whether that was seen to move and to rest."""


def _repeats(numbers: TraceNumbers) -> Sign:
    if numbers.signal_mm is None:
        itself = "It reaches the foramen signal only without the file's doing."
        never = "It never reaches the foramen signal."
        return Sign(False, float("nan"), itself if numbers.by_itself else never)
    apart = numbers.apart_mm
    if not numbers.tried_again:
        why = "does not come back to it" if numbers.went_mm.size else "does not give it up"
        return Sign(False, apart, f"It reaches the foramen signal and {why}.")
    if apart > t.APART_HOLDS_MM.value:
        return Sign(False, apart, f"Its foramen signals are {apart:.1f} mm apart.")
    return Sign(
        True, apart, f"It reaches the foramen signal and gives it up, {apart:.2f} mm apart."
    )


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
