"""How far measurements are off, and how well they agree.

Statistics of plain arrays, without notebooks or classes. What `statsmodels` and `pingouin` compute
is left to them; both are imported where they are used, because each takes a second or more.

References
----------
.. [1] Bland & Altman 1986, Lancet 327:307: limits of agreement.
.. [2] Dahlberg 1940, Statistical Methods for Medical and Biological Students: error of a
   measurement from repeats.
.. [3] Shrout & Fleiss 1979, Psychol Bull 86:420; McGraw & Wong 1996, Psychol Methods 1:30:
   intraclass correlation.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

LIMITS_Z = 1.96
"""Limits of agreement hold 95 in 100 differences when these are normal."""

CONFIDENCE = 0.95


@dataclass(frozen=True)
class Estimate:
    """A figure with the ends of its 95 % confidence interval; not a number where unknown."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Limits:
    """Differences summed up: how many, their mean and SD, and the limits of agreement.

    ``low`` and ``high`` are the limits; ``mean_low`` and ``mean_high`` the 95 % confidence
    interval of the mean; ``reach`` is how far that of each limit goes either way. All but ``mean``
    are not a number for a single difference.
    """

    n: int
    mean: float
    sd: float
    low: float
    high: float
    mean_low: float
    mean_high: float
    reach: float


def limits_of_agreement(differences: npt.ArrayLike, multiplier: float = LIMITS_Z) -> Limits:
    """Mean, SD (n - 1) and limits of agreement of differences [1]_.

    Parameters
    ----------
    differences : any number of them; a unit comes back as it went in.
    multiplier : SDs from the mean to a limit. The paper of 1986 prints 2.

    Examples
    --------
    >>> found = limits_of_agreement([-1.0, 0.0, 1.0])
    >>> found.mean, found.sd, found.high
    (0.0, 1.0, 1.96)
    """
    values = np.asarray(differences, dtype=float)
    if values.size == 0:
        return Limits(0, *[math.nan] * 7)
    mean = float(values.mean())
    if values.size == 1:
        return Limits(1, mean, *[math.nan] * 6)
    from scipy.special import stdtrit

    n, sd = values.size, float(values.std(ddof=1))
    low, high = mean - multiplier * sd, mean + multiplier * sd
    t = float(stdtrit(n - 1, 0.5 + CONFIDENCE / 2))
    of_mean = t * sd / math.sqrt(n)
    of_limits = t * sd * math.sqrt(3 / n)  # as in the paper: about 1/n + multiplier² / 2n
    return Limits(n, mean, sd, low, high, mean - of_mean, mean + of_mean, of_limits)


def dahlberg_error(values: npt.ArrayLike, groups: npt.ArrayLike) -> float:
    """Error of a single measurement from repeats [2]_, in the unit of the values.

    For pairs it is the square root of the sum of squared differences over twice their number; for
    more repeats the pooled SD within groups, which is the same thing. Groups of one say nothing;
    without any repeat it is not a number.

    Examples
    --------
    >>> dahlberg_error([10.0, 12.0, 20.0, 20.0], ["a", "a", "b", "b"])
    1.0
    """
    measured = np.asarray(values, dtype=float)
    _, which = np.unique(np.asarray(groups), return_inverse=True)
    counts = np.bincount(which)
    freedom = int((counts - 1).sum())
    if freedom < 1:
        return math.nan
    means = np.bincount(which, measured) / counts
    return float(math.sqrt(((measured - means[which]) ** 2).sum() / freedom))


def rms(errors: npt.ArrayLike) -> float:
    """Root of the mean square of errors against what is true, in their unit; not a number of none.

    Examples
    --------
    >>> rms([0.3, -0.4, 0.0, 0.0])
    0.25
    """
    values = np.asarray(errors, dtype=float)
    return float(np.sqrt(np.mean(values**2))) if values.size else math.nan


def share_of(hits: int, n: int) -> Estimate:
    """A share with its Wilson interval (`statsmodels`); not a number where nothing was tried.

    Examples
    --------
    >>> one = share_of(9, 10)
    >>> one.value, round(one.low, 2), round(one.high, 2)
    (0.9, 0.6, 0.98)
    """
    if n == 0:
        return Estimate(math.nan, math.nan, math.nan)
    from statsmodels.stats.proportion import proportion_confint

    low, high = proportion_confint(hits, n, alpha=1 - CONFIDENCE, method="wilson")
    return Estimate(hits / n, float(low), float(high))


def intraclass_correlation(ratings: npt.ArrayLike) -> dict[str, Estimate]:
    """The six intraclass correlations [3]_ of a full table (`pingouin`).

    Parameters
    ----------
    ratings : shape (targets, raters), without gaps; rows with a gap are left out.

    Returns
    -------
    By name: ``ICC(1,1)`` is any raters, ``ICC(A,1)`` the same raters and absolute agreement,
    ``ICC(C,1)`` the same order; ``k`` in place of 1 is the mean of all raters. Empty with fewer
    than three whole rows or two raters, or where all ratings are the same.
    """
    table = np.asarray(ratings, dtype=float)
    table = table[~np.isnan(table).any(axis=1)] if table.ndim == 2 else table.reshape(0, 0)
    targets, raters = table.shape
    if targets < 3 or raters < 2 or np.ptp(table) == 0:
        return {}
    import pandas as pd
    import pingouin

    long = pd.DataFrame(
        {
            "target": np.repeat(np.arange(targets), raters),
            "rater": np.tile(np.arange(raters), targets),
            "rating": table.ravel(),
        }
    )
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")  # divisions by an error of nothing, when raters agree
        found = pingouin.intraclass_corr(long, "target", "rater", "rating")
    return {
        str(row.Type): Estimate(float(row.ICC), float(row.CI95[0]), float(row.CI95[1]))
        for row in found.itertuples()
    }


def kappa(first: npt.ArrayLike, second: npt.ArrayLike) -> Estimate:
    """Kappa of two graders' points, weighted by the square of their distance (`statsmodels`).

    Not a number where both gave everybody the same points: there is no chance to agree by. Raises
    `ValueError` where the two did not mark the same number of answers.

    Examples
    --------
    >>> kappa([0, 1, 2, 4], [0, 1, 2, 4]).value
    1.0
    """
    one, other = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if one.ndim != 1 or one.shape != other.shape:
        raise ValueError(
            f"field second: got points of shape {other.shape} beside {one.shape}; allowed are two "
            "lists of the same length, one pair of points an answer; leave out what only one marked"
        )
    levels = np.unique(np.concatenate([one, other]))
    if levels.size < 2:
        return Estimate(math.nan, math.nan, math.nan)
    from statsmodels.stats.inter_rater import cohens_kappa

    table = np.zeros((levels.size, levels.size))
    np.add.at(table, (np.searchsorted(levels, one), np.searchsorted(levels, other)), 1)
    with np.errstate(all="ignore"):
        found = cohens_kappa(table, weights=levels, wt="quadratic")
    # The large-sample interval may reach past what a kappa can be.
    low, high = (float(np.clip(end, -1, 1)) for end in (found.kappa_low, found.kappa_upp))
    return Estimate(float(found.kappa), low, high)


def cronbach_alpha(points: npt.ArrayLike) -> Estimate:
    """Reliability of a total from the points of its parts (`pingouin`); KR-20 for right or wrong.

    Parameters
    ----------
    points : shape (students, parts), without gaps; rows with a gap are left out.

    Returns
    -------
    Not a number with fewer than two students or parts, or where all totals are the same.
    """
    table = np.asarray(points, dtype=float)
    table = table[~np.isnan(table).any(axis=1)]
    if table.shape[0] < 2 or table.shape[1] < 2 or np.ptp(table.sum(axis=1)) == 0:
        return Estimate(math.nan, math.nan, math.nan)
    import pandas as pd
    import pingouin

    value, ends = pingouin.cronbach_alpha(pd.DataFrame(table), ci=CONFIDENCE)
    return Estimate(float(value), float(ends[0]), float(ends[1]))


def discriminations(points: npt.ArrayLike) -> Floats:
    """For each part, how it goes with the rest: its correlation with the total of all other parts.

    Parameters
    ----------
    points : shape (students, parts), without gaps.

    Returns
    -------
    Shape (parts,); not a number where a part, or the rest, is the same for everybody.

    Examples
    --------
    >>> discriminations([[1, 1], [0, 0], [1, 1]])
    array([1., 1.])
    """
    table = np.asarray(points, dtype=float)
    rest = table.sum(axis=1, keepdims=True) - table
    if table.shape[0] < 2:
        return np.full(table.shape[1], math.nan)
    part, other = table - table.mean(axis=0), rest - rest.mean(axis=0)
    spread = np.sqrt((part**2).sum(axis=0) * (other**2).sum(axis=0))
    together = (part * other).sum(axis=0)
    unknown: Floats = np.full(table.shape[1], math.nan)
    np.divide(together, spread, out=unknown, where=spread > 1e-12)
    return unknown
