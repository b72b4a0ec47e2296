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
  repeats without drift raise the trust in paper up to a limit and never to certainty;
- *flooded*: liquid stands anywhere in the canal, and marks tell nothing of where it ends.
"""

from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from lengthwise.physics.wicking import entrance_limited_mm_and_slope, washburn_mm_and_slope
from lengthwise.reference import constants as c

from .foramen import ANGLES_RAD, DIAMETERS_MM
from .offsets import Floats, Offsets, binned, log_mean_exp, mix, sum_by
from .paper_pools import HIGHEST_POOL_MM, draining, flooded, steady
from .paper_trials import TrialTable, log_dry, log_mark, rows_where

# Two nodes of a normal distribution (Gauss-Hermite), equally probable: exact to the third degree,
# and K moves a mark by hundredths of a millimetre only.
_K_NODES = np.array([-1.0, 1.0])
_LAW = c.ENTRANCE_LAW_PROBABILITY.value
_NODE_WEIGHTS = np.array([1 - _LAW, 1 - _LAW, _LAW, _LAW]) / 2


def paper_log_likelihood(table: TrialTable, landmark_mm: Floats, step_mm: float) -> Floats:
    """Log-likelihood of all trials of each case over its landmark (cases, points).

    `landmark_mm` (cases, points + extra) begins `HIGHEST_POOL_MM` before the grid of the answer.
    """
    extra = round(HIGHEST_POOL_MM / step_mm)
    count, cases = len(table.source_case), len(landmark_mm)
    sd = c.PLACEMENT_SD_MM.value
    sticks, slips = float(np.log(c.BOUND_DRY.value)), float(np.log1p(-c.BOUND_DRY.value))
    bound_share, steady_share = c.BOUND_SHARE.value, c.STEADY_SHARE.value
    flooded_share = c.FLOODED_SHARE.value

    dry, wet = rows_where(table, table.wet_mm <= 0), rows_where(table, table.wet_mm > 0)
    at_dry, at_wet = (landmark_mm[t.source_case[t.source]] for t in (dry, wet))
    all_dry = log_dry(at_dry, dry, sd)
    each = all_dry[:, extra:]
    dry_clean = sum_by(dry.source, each, count)
    sticking = np.logaddexp(sticks, slips + each) + dry.log_bound[:, None]
    dry_bound = sum_by(dry.source, sticking, count)
    drains = draining(at_dry, dry, at_wet, wet, step_mm)
    returns = steady(sum_by(dry.source, all_dry, count), at_wet, wet, step_mm)
    pooled = np.logaddexp(
        np.log1p(-bound_share - steady_share - flooded_share) + drains,
        np.log(steady_share) + returns,
    )
    pooled = np.logaddexp(pooled, np.log(flooded_share) + flooded(table))

    nodes = []
    for node in range(len(_NODE_WEIGHTS)):
        each = log_wet(at_wet[:, extra:], wet, sd, node)
        sound = dry_clean + sum_by(wet.source, each, count)
        bound = dry_bound + sum_by(wet.source, slips + each + wet.log_bound[:, None], count)
        mixed = mix(
            table.source_trust[:, None], sound, np.logaddexp(pooled, np.log(bound_share) + bound)
        )
        nodes.append(sum_by(table.source_case, mixed, cases))
    return log_mean_exp(np.stack(nodes), _NODE_WEIGHTS)


def log_wet(x: Floats, table: TrialTable, sd_mm: float, node: int) -> Floats:
    """Wet by a touch of tissue at x (mm), with this mark, at one node of (K, law)."""
    length, slope = wicked_mm(table.contact_s[:, None], node)
    mark_sd = np.hypot(c.MARK_READING_SD_MM.value, slope * c.CONTACT_TIME_RELATIVE_SD.value)
    return log_mark(x, table, sd_mm, length, mark_sd)


def wicked_mm(contact_s: npt.ArrayLike, node: int) -> tuple[Floats, Floats]:
    """Wicked length (mm) at one node of (K, law), and its change per relative change of time."""
    relative = c.PAPER_K_RELATIVE_SD.value
    k = c.PAPER_K_MM_PER_SQRT_S.value * (1 + relative * _K_NODES[node % len(_K_NODES)])
    if node < len(_K_NODES):
        return washburn_mm_and_slope(contact_s, k_mm_per_sqrt_s=k)
    return entrance_limited_mm_and_slope(
        contact_s, k_mm_per_sqrt_s=k, entrance_length_mm=c.ENTRANCE_LENGTH_MM.value
    )


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
