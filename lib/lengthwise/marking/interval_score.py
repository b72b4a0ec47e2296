"""What an interval is worth: narrow is better, and leaving the truth out is worse.

References
----------
.. [1] Gneiting & Raftery 2007, J Am Stat Assoc 102:359: interval score.
"""

import numpy as np
import numpy.typing as npt

from lengthwise.reconciliation.result import LIKELY

INTERVAL_PROBABILITY = LIKELY
"""What the course asks an interval to hold: as much as the library's own does."""


def interval_score(
    low: npt.ArrayLike,
    high: npt.ArrayLike,
    true: npt.ArrayLike,
    probability: float = INTERVAL_PROBABILITY,
) -> npt.NDArray[np.float64]:
    """Interval score [1]_: the width, and a penalty for each unit by which the truth is missed.

    Smaller is better. For 90 % intervals a miss costs 20 times its distance.

    Raises
    ------
    ValueError
        Where a lower end lies above its upper one, or the probability is not between 0 and 1.

    Examples
    --------
    >>> interval_score([24.0, 24.0], [25.0, 25.0], [24.5, 25.25])
    array([1., 6.])
    """
    below, above, at = (np.asarray(each, dtype=float) for each in (low, high, true))
    if not 0 < probability < 1:
        raise ValueError(
            f"field probability: got {probability:g}; allowed is between 0 and 1; write 0.90 for "
            "a 90 % interval"
        )
    if np.any(below > above):
        raise ValueError(
            f"field low: got {np.sum(below > above)} lower ends above their upper ones; allowed is "
            "low before high; swap them"
        )
    missed = np.maximum(below - at, 0) + np.maximum(at - above, 0)
    return np.asarray(above - below + 2 / (1 - probability) * missed, dtype=np.float64)
