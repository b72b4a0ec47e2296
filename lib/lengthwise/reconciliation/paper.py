"""Paper points: a dry point and a wet mark, and what all points of one canal share.

The landmark x is where paper meets tissue: the coronal rim of an oblique foramen, less a
meniscus. With the point set to d and placed with an error ε, the part beyond the landmark is
o = d + ε - x. A point is wet if o > 0, and its mark is o plus what wicked, l(t).

- dry:  P = f + (1 - f) Φ((x - d) / σ), f being the chance to stay dry although past;
- wet with mark m:  (1 - f) ∫₀^∞ N(o; d - x, σ) N(m - l(t); o, σ_m) do. Indicator and mark share one
  placement error; the product of two separate terms would claim too much.

Shared by all points of a canal: the landmark's distance from the foramen, the wicking constant
K, the wicking law. Shared by the points of one drying attempt (a source): whether it is sound. An
unsound one is

- *bound*: points stick and stay dry, and most are felt to stick, which is evidence by itself;
- *draining*: liquid stands above the landmark, to a height that is exponential, and every wet point
  takes some of it away: lengths drift, which is how it is found out;
- *steady*: what points take out comes back. It repeats as well as a sound attempt does, so that
  repeats without drift raise the trust in paper up to a limit and never to certainty.

From liquid that stands free a point takes up more than from a brief touch of tissue, as much as
there is and not by the time of contact.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr, ndtr

from lengthwise.evidence import PointTrial
from lengthwise.physics.wicking import entrance_limited_length_mm, washburn_length_mm
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

from .densities import log_normal
from .foramen import ANGLES_RAD, DIAMETERS_MM
from .offsets import FLOOR_NATS, TAP_MM, Floats, Offsets, binned, carry, log_mean_exp, mix, sum_by
from .sources import Source

HIGHEST_POOL_MM = 3.0
"""Liquid standing higher than this above the foramen is a flooded canal, not an unsound trial."""

# Two nodes of a normal distribution (Gauss-Hermite), equally probable: exact to the third degree,
# and K moves a mark by hundredths of a millimetre only.
_K_NODES = np.array([-1.0, 1.0])
_LAW = c.ENTRANCE_LAW_PROBABILITY.value
_NODE_WEIGHTS = np.array([1 - _LAW, 1 - _LAW, _LAW, _LAW]) / 2

DRIFTS_MM = (c.DRIFT_SLOW_MM.value, c.DRIFT_FAST_MM.value)
"""By how much each wet point lowers the liquid of a draining canal; both as likely."""

_POOL_TAP_MM = 0.2
# Nodes of the shared uptake from a steady pool, closer than what one mark tells about it.
_UPTAKE_Z = np.linspace(-1.8, 1.8, 7)
_UPTAKE_WEIGHTS = np.exp(-(_UPTAKE_Z**2) / 2) / np.exp(-(_UPTAKE_Z**2) / 2).sum()


@dataclass(frozen=True)
class TrialTable:
    """The trials of many cases as arrays; `source` counts paper sources over all cases.

    `log_bound` is how much likelier a bound canal makes what was felt (log of the ratio);
    `wet_before` counts the points of the same source that had come out wet before.
    """

    source: npt.NDArray[np.intp]
    length_mm: Floats
    wet_mm: Floats
    contact_s: Floats
    false_dry: Floats
    log_bound: Floats
    wet_before: npt.NDArray[np.intp]
    source_case: npt.NDArray[np.intp]
    source_trust: Floats


def trial_table(cases: Sequence[Sequence[Source]]) -> TrialTable:
    """Collect the point trials of many cases."""
    owner: list[int] = []
    trust: list[float] = []
    of_source: list[int] = []
    columns: list[tuple[float, float, float, float, float, int]] = []
    for case, sources in enumerate(cases):
        for source in sources:
            if source.kind != "point_trial":
                continue
            wet_before = 0
            for record in source.records:
                assert isinstance(record, PointTrial)
                of_source.append(len(owner))
                length = record.length_mm + record.offset_mm - source.shift_mm
                chance = false_dry_chance(record.ran_freely)
                felt = _log_bound(record.ran_freely)
                columns.append((length, record.wet_mm, record.contact_s, chance, felt, wet_before))
                wet_before += record.wet_mm > 0
            owner.append(case)
            trust.append(source.trust)
    arrays = np.array(columns, dtype=np.float64).reshape(-1, 6).T
    length_mm, wet_mm, contact_s, dry_chance, log_bound, before = arrays
    return TrialTable(
        np.array(of_source, dtype=np.intp),
        length_mm,
        wet_mm,
        contact_s,
        dry_chance,
        log_bound,
        before.astype(np.intp),
        np.array(owner, dtype=np.intp),
        np.array(trust, dtype=np.float64),
    )


def false_dry_chance(ran_freely: bool | None) -> float:
    """Probability that a point stays dry although its tip is past the landmark.

    >>> false_dry_chance(True) < false_dry_chance(None) < false_dry_chance(False)
    True
    """
    if ran_freely is None:
        return c.FALSE_DRY_NOT_RECORDED.value
    return (c.FALSE_DRY_RAN_FREELY if ran_freely else c.FALSE_DRY_BINDING).value


def felt_chance(bound: bool) -> float:
    """Probability that a point is felt not to run freely, in a bound canal or in any other."""
    return (p.FELT_WHERE_BOUND if bound else p.FELT_ELSEWHERE).value


def _log_bound(ran_freely: bool | None) -> float:
    if ran_freely is None:
        return 0.0
    there, elsewhere = felt_chance(True), felt_chance(False)
    return float(np.log((1 - there) / (1 - elsewhere) if ran_freely else there / elsewhere))


def paper_log_likelihood(table: TrialTable, landmark_mm: Floats, step_mm: float) -> Floats:
    """Log-likelihood of all trials of each case over its landmark (cases, points).

    `landmark_mm` (cases, points + extra) begins `HIGHEST_POOL_MM` before the grid of the answer.
    """
    extra = round(HIGHEST_POOL_MM / step_mm)
    count, cases = len(table.source_case), len(landmark_mm)
    sd = c.PLACEMENT_SD_MM.value
    sticks, slips = float(np.log(c.BOUND_DRY.value)), float(np.log1p(-c.BOUND_DRY.value))
    bound_share, steady_share = c.BOUND_SHARE.value, c.STEADY_SHARE.value

    dry, wet = _rows_where(table, table.wet_mm <= 0), _rows_where(table, table.wet_mm > 0)
    at_dry, at_wet = (landmark_mm[t.source_case[t.source]] for t in (dry, wet))
    all_dry = _log_dry(at_dry, dry, sd)
    each = all_dry[:, extra:]
    dry_clean = sum_by(dry.source, each, count)
    sticking = np.logaddexp(sticks, slips + each) + dry.log_bound[:, None]
    dry_bound = sum_by(dry.source, sticking, count)
    draining = _draining(at_dry, dry, at_wet, wet, step_mm)
    steady = _steady(sum_by(dry.source, all_dry, count), at_wet, wet, step_mm)
    pooled = np.logaddexp(
        np.log1p(-bound_share - steady_share) + draining, np.log(steady_share) + steady
    )

    nodes = []
    for node in range(len(_NODE_WEIGHTS)):
        each = _log_wet(at_wet[:, extra:], wet, sd, node)
        sound = dry_clean + sum_by(wet.source, each, count)
        bound = dry_bound + sum_by(wet.source, slips + each + wet.log_bound[:, None], count)
        mixed = mix(
            table.source_trust[:, None], sound, np.logaddexp(pooled, np.log(bound_share) + bound)
        )
        nodes.append(sum_by(table.source_case, mixed, cases))
    return log_mean_exp(np.stack(nodes), _NODE_WEIGHTS)


def _draining(
    at_dry: Floats, dry: TrialTable, at_wet: Floats, wet: TrialTable, step_mm: float
) -> Floats:
    """Log-likelihood of each source in a canal whose liquid the points take away."""
    sd = float(np.hypot(c.PLACEMENT_SD_MM.value, c.POOL_SCATTER_SD_MM.value))
    spread = np.hypot(c.MARK_READING_SD_MM.value, c.POOL_UPTAKE_SD_MM.value)
    each = np.concatenate(
        [
            _log_dry(at_dry, dry, sd),
            _log_mark(at_wet, wet, sd, c.POOL_UPTAKE_MEAN_MM.value, spread),
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


def _steady(dry_sum: Floats, at_wet: Floats, wet: TrialTable, step_mm: float) -> Floats:
    """Log-likelihood of each source in a canal whose liquid comes back; its points share uptake."""
    nodes = []
    for z in _UPTAKE_Z:
        uptake = c.POOL_UPTAKE_MEAN_MM.value + z * c.POOL_UPTAKE_SD_MM.value
        each = _log_mark(at_wet, wet, c.PLACEMENT_SD_MM.value, uptake, c.MARK_READING_SD_MM.value)
        nodes.append(carry(dry_sum + sum_by(wet.source, each, len(dry_sum)), _pool(), step_mm))
    return log_mean_exp(np.stack(nodes), _UPTAKE_WEIGHTS)


def wicked_mm(contact_s: npt.ArrayLike, node: int) -> tuple[Floats, Floats]:
    """Wicked length (mm) at one node of (K, law), and its change per relative change of time."""
    relative = c.PAPER_K_RELATIVE_SD.value
    k = c.PAPER_K_MM_PER_SQRT_S.value * (1 + relative * _K_NODES[node % len(_K_NODES)])
    if node < len(_K_NODES):
        return washburn_length_mm(contact_s, k_mm_per_sqrt_s=k)
    return entrance_limited_length_mm(
        contact_s, k_mm_per_sqrt_s=k, entrance_length_mm=c.ENTRANCE_LENGTH_MM.value
    )


def _rows_where(table: TrialTable, wanted: npt.NDArray[np.bool_]) -> TrialTable:
    """The table with only the wanted trials; its sources stay as they are."""
    return replace(
        table,
        source=table.source[wanted],
        length_mm=table.length_mm[wanted],
        wet_mm=table.wet_mm[wanted],
        contact_s=table.contact_s[wanted],
        false_dry=table.false_dry[wanted],
        log_bound=table.log_bound[wanted],
        wet_before=table.wet_before[wanted],
    )


def _log_dry(x: Floats, table: TrialTable, sd_mm: float) -> Floats:
    f, d = table.false_dry[:, None], table.length_mm[:, None]
    return np.asarray(np.log(f + (1 - f) * ndtr((x - d) / sd_mm)))


def _log_wet(x: Floats, table: TrialTable, sd_mm: float, node: int) -> Floats:
    length, slope = wicked_mm(table.contact_s[:, None], node)
    mark_sd = np.hypot(c.MARK_READING_SD_MM.value, slope * c.CONTACT_TIME_RELATIVE_SD.value)
    return _log_mark(x, table, sd_mm, length, mark_sd)


def _log_mark(
    x: Floats, table: TrialTable, sd_mm: float, wicked: npt.ArrayLike, mark_sd: npt.ArrayLike
) -> Floats:
    """Wet, with this mark: `wicked` (mm) above the surface, known to within `mark_sd` (mm)."""
    mark_sd = np.asarray(mark_sd)
    total = sd_mm**2 + mark_sd**2
    past = table.length_mm[:, None] - x
    overshoot = table.wet_mm[:, None] - np.asarray(wicked)
    centre = (past * mark_sd**2 + overshoot * sd_mm**2) / total
    spread = sd_mm * mark_sd / np.sqrt(total)
    joint = log_normal(overshoot - past, np.sqrt(total)) + log_ndtr(centre / spread)
    return np.asarray(joint + np.log1p(-table.false_dry[:, None]))


@cache
def _pool(tap_mm: float = TAP_MM) -> Offsets:
    """Where liquid is met, minus where tissue would be: an exponential height, cut off."""
    mean = c.POOL_HEIGHT_MEAN_MM.value
    return binned(lambda mm: np.exp(mm / mean), -HIGHEST_POOL_MM, 0.0, tap_mm)


@cache
def paper_offsets(diameter: int) -> Offsets:
    """(where paper meets tissue) - foramen, for one node of the foramen's diameter.

    -(D tan φ)/2 - meniscus, φ half-normal, and what else differs between canals (normal).
    """
    rim = -DIAMETERS_MM[diameter] * np.tan(ANGLES_RAD) / 2 - c.MENISCUS_MM.value
    sd = c.PAPER_BETWEEN_CANALS_SD_MM.value
    return binned(
        lambda mm: np.asarray(ndtr((mm[:, None] - rim) / sd).mean(axis=1)),
        rim.min() - 4 * sd,
        rim.max() + 4 * sd,
    )
