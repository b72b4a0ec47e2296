"""Paper points in a canal in which liquid stands above the landmark, or anywhere.

From liquid that stands free a point takes up more than from a brief touch of tissue, as much as
there is and not by the time of contact. All log-likelihoods are of sources, (sources, points).
"""

from functools import cache

import numpy as np

from lengthwise.reference import constants as c

from .offsets import FLOOR_NATS, TAP_MM, Floats, Offsets, binned, carry, log_mean_exp, sum_by
from .paper_trials import TrialTable, log_dry, log_mark

HIGHEST_POOL_MM = 3.0
"""Liquid standing higher than this above the foramen is a flooded canal."""

DRIFTS_MM = (c.DRIFT_SLOW_MM.value, c.DRIFT_FAST_MM.value)
"""By how much each wet point lowers the liquid of a draining canal; both as likely."""

_POOL_TAP_MM = 0.2
# Nodes of the shared uptake from a steady pool, closer than what one mark tells about it.
_UPTAKE_Z = np.linspace(-1.8, 1.8, 7)
_UPTAKE_WEIGHTS = np.exp(-(_UPTAKE_Z**2) / 2) / np.exp(-(_UPTAKE_Z**2) / 2).sum()


def draining(
    at_dry: Floats, dry: TrialTable, at_wet: Floats, wet: TrialTable, step_mm: float
) -> Floats:
    """Log-likelihood of each source in a canal whose liquid the points take away."""
    sd = float(np.hypot(c.PLACEMENT_SD_MM.value, c.POOL_SCATTER_SD_MM.value))
    spread = np.hypot(c.MARK_READING_SD_MM.value, c.POOL_UPTAKE_SD_MM.value)
    each = np.concatenate(
        [
            log_dry(at_dry, dry, sd),
            log_mark(at_wet, wet, sd, c.POOL_UPTAKE_MEAN_MM.value, spread),
        ]
    )
    source = np.concatenate([dry.source, wet.source])
    before = np.concatenate([dry.wet_before, wet.wet_before])
    sums = [
        sum_by(source[before == k], each[before == k], len(dry.source_case))
        for k in range(int(before.max(initial=0)) + 1)
    ]
    extra = round(HIGHEST_POOL_MM / step_mm)
    points = each.shape[1] - extra
    pool = _pool(_POOL_TAP_MM)
    # No sum of parts exceeds the sum of their tops, so that exp cannot overflow.
    top = sum((part.max(axis=1, keepdims=True) for part in sums), np.zeros((len(sums[0]), 1)))
    total = np.zeros((len(sums[0]), points))
    for drift in DRIFTS_MM:
        for tap, weight in enumerate(pool.weights):
            height = -(pool.first_mm + tap * pool.tap_mm)
            level = np.broadcast_to(-top, total.shape)
            for k, part in enumerate(sums):
                start = extra - round(max(height - drift * k, 0.0) / step_mm)
                level = level + part[:, start : start + points]
            total += weight * np.exp(np.maximum(level, -FLOOR_NATS))
    return np.asarray(np.log(total / len(DRIFTS_MM)) + top)


def steady(dry_sum: Floats, at_wet: Floats, wet: TrialTable, step_mm: float) -> Floats:
    """Log-likelihood of each source in a canal whose liquid comes back; its points share uptake."""
    nodes = []
    for z in _UPTAKE_Z:
        uptake = c.POOL_UPTAKE_MEAN_MM.value + z * c.POOL_UPTAKE_SD_MM.value
        each = log_mark(at_wet, wet, c.PLACEMENT_SD_MM.value, uptake, c.MARK_READING_SD_MM.value)
        nodes.append(carry(dry_sum + sum_by(wet.source, each, len(dry_sum)), _pool(), step_mm))
    return log_mean_exp(np.stack(nodes), _UPTAKE_WEIGHTS)


def flooded(table: TrialTable) -> Floats:
    """Log-likelihood of each source (sources, 1) in a canal full of liquid: any mark, anywhere."""
    wet = np.log1p(-table.false_dry) - np.log(table.length_mm)
    each = np.where(table.wet_mm > 0, wet, np.log(table.false_dry))
    return sum_by(table.source, each[:, None], len(table.source_case))


@cache
def _pool(tap_mm: float = TAP_MM) -> Offsets:
    """Where liquid is met, minus where tissue would be: an exponential height, cut off."""
    mean = c.POOL_HEIGHT_MEAN_MM.value
    return binned(lambda mm: np.exp(mm / mean), -HIGHEST_POOL_MM, 0.0, tap_mm)
