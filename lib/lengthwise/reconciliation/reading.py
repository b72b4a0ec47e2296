"""Electronic readings: the depth at which the foramen signal came, and when to doubt it.

The landmark x is where a sound reading of this canal gives its signal. In the middle of all canals
it lies a little past the foramen, the more coronal the wider the foramen is, and differs between
canals; repeats share it. A source that is not sound is either steady but early (its repeats share
how much: exponential), or erratic (each signal anywhere near).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from lengthwise.evidence import ElectronicReading
from lengthwise.reference import readings

from .densities import log_early, log_normal
from .foramen import DIAMETERS_MM
from .offsets import FINE_TAP_MM, Floats, Offsets, binned, mix, sum_by
from .sources import Source


@dataclass(frozen=True, eq=False)
class SignalTable:
    """The reading sources of many cases. A source's signals enter by count, mean and scatter."""

    count: Floats
    mean_mm: Floats
    scatter_mm2: Floats
    sd_mm: Floats
    source_case: npt.NDArray[np.intp]
    source_trust: Floats


def signal_table(cases: Sequence[Sequence[Source]]) -> SignalTable:
    """Collect the foramen signals of many cases."""
    owner: list[int] = []
    rows: list[tuple[float, float, float, float, float]] = []
    for case, sources in enumerate(cases):
        for source in sources:
            if source.kind != "electronic_reading":
                continue
            signals, sds = zip(*_signals(source), strict=True)
            middle = float(np.mean(signals))
            spread = float(np.sum((np.array(signals) - middle) ** 2))
            owner.append(case)
            rows.append((len(signals), middle, spread, float(np.max(sds)), source.trust))
    count, mean_mm, scatter, sd, trust = np.array(rows, dtype=np.float64).reshape(-1, 5).T
    return SignalTable(count, mean_mm, scatter, sd, np.array(owner, dtype=np.intp), trust)


def _signals(source: Source) -> list[tuple[float, float]]:
    """Depth (mm) of each foramen signal and its repeatability, from records and traces."""
    pairs = []
    for record, trace in zip(source.records, source.traces, strict=True):
        assert isinstance(record, ElectronicReading)
        depth, sd = record.foramen_signal_mm, readings.REPEAT_SD_MM.value
        if trace is not None:
            depth, sd = trace.signal_mm, max(sd, trace.signal_sd_mm or 0.0)
        if depth is not None:
            pairs.append((depth + record.offset_mm - source.shift_mm, sd))
    return pairs


def reading_log_likelihood(table: SignalTable, landmark_mm: Floats) -> Floats:
    """Log-likelihood of all readings of each case over its landmark (cases, points)."""
    n, mean, scatter, sd = (
        column[:, None] for column in (table.count, table.mean_mm, table.scatter_mm2, table.sd_mm)
    )
    late = landmark_mm[table.source_case] - mean
    # n normal repeats are one mean with sd/√n, times the likelihood of their scatter about it
    within = (
        -scatter / (2 * sd**2)
        - n * np.log(sd * np.sqrt(2 * np.pi))
        + np.log(sd * np.sqrt(2 * np.pi / n))
    )
    # No mean is known better than its landmark's taps can tell, however many repeats there are.
    mean_sd = np.maximum(sd / np.sqrt(n), FINE_TAP_MM / 2)
    sound = within + log_normal(late, mean_sd)
    early = within + log_early(late, mean_sd, readings.EARLY_MEAN_MM.value)
    wide = np.hypot(readings.ERRATIC_SD_MM.value, sd)
    erratic = -(scatter + n * late**2) / (2 * wide**2) - n * np.log(wide * np.sqrt(2 * np.pi))
    share = readings.STABLE_SHORT_SHARE.value
    unsound = np.logaddexp(np.log(share) + early, np.log1p(-share) + erratic)
    return sum_by(
        table.source_case, mix(table.source_trust[:, None], sound, unsound), len(landmark_mm)
    )


@cache
def reading_offsets(diameter: int) -> Offsets:
    """(foramen signal of a sound reading) - foramen, for one node of the foramen's diameter."""
    wider = DIAMETERS_MM[diameter] - readings.CALIBRATION_DIAMETER_MM.value
    centre = readings.LATE_MM.value - readings.SHORT_PER_MM_WIDER.value * wider
    sd = readings.BETWEEN_CANALS_SD_MM.value
    return binned(
        lambda mm: np.asarray(ndtr((mm - centre) / sd)),
        centre - 4 * sd,
        centre + 4 * sd,
        FINE_TAP_MM,
    )
