"""What disturbs a display in time: contacts that come and go, a loose file, lag, noise.

Arrays are (n, samples); the samples of a trace lie `step_s` (n,) apart.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from lengthwise.reference import meter as m

from .meter_conditions import ReadingConditions

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Generator = np.random.Generator


@dataclass(frozen=True, eq=False)
class Disturbances:
    """`loose` from 0 to 1, `touched`, `lost`, and `noise` of the quotient; all (n, samples)."""

    loose: Floats
    touched: Flags
    lost: Flags
    noise: Floats


def draw_disturbances(
    conditions: ReadingConditions, step_s: Floats, samples: int, rng: Generator
) -> Disturbances:
    """What happens during n traces."""
    c = conditions
    regains = np.full(len(step_s), m.REGAINS_PER_S.value)
    return Disturbances(
        loose=np.asarray(ndtr(wander(np.asarray(c.swings_per_s), step_s, samples, rng))),
        touched=come_and_go(
            np.asarray(c.touches_per_s), np.asarray(c.parts_per_s), step_s, samples, rng
        ),
        lost=come_and_go(np.asarray(c.loses_per_s), regains, step_s, samples, rng),
        noise=np.asarray(c.noise)[:, None] * rng.normal(size=(len(step_s), samples)),
    )


def come_and_go(
    begins_per_s: Floats, ends_per_s: Floats, step_s: Floats, samples: int, rng: Generator
) -> Flags:
    """A process of two states with these rates, in balance from the start.

    Examples
    --------
    >>> one, rng = np.ones(1), np.random.default_rng(1)
    >>> float(come_and_go(one, 3 * one, 0.1 * one, 20_000, rng).mean().round(1))
    0.2
    """
    both = begins_per_s + ends_per_s
    share, kept = begins_per_s / both, np.exp(-both * step_s)
    chance = rng.random((samples, len(step_s)))
    on = np.empty(chance.shape, dtype=np.bool_)
    on[0] = chance[0] < share
    for k in range(1, samples):
        on[k] = chance[k] < share + (on[k - 1] - share) * kept
    return on.T


def wander(per_s: Floats, step_s: Floats, samples: int, rng: Generator) -> Floats:
    """A standard normal process that forgets itself at this rate (Ornstein & Uhlenbeck 1930)."""
    kept = np.exp(-per_s * step_s)
    at = rng.normal(size=(samples, len(step_s)))
    for k in range(1, samples):
        at[k] = kept * at[k - 1] + np.sqrt(1 - kept**2) * at[k]
    return at.T


def lagged(quotient: Floats, step_s: Floats) -> Floats:
    """The quotient as a display of first order follows it; it starts afresh after a loss.

    Examples
    --------
    >>> lagged(np.array([[0.0, 1.0, np.nan, 1.0]]), np.array([1e3])).tolist()
    [[0.0, 1.0, nan, 1.0]]
    """
    follows = -np.expm1(-step_s / m.LAG_S.value)
    out = quotient.T.copy()
    for k in range(1, len(out)):
        before = np.where(np.isnan(out[k - 1]), out[k], out[k - 1])
        out[k] = before + follows * (out[k] - before)
    return out.T
