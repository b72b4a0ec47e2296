"""The few log-densities that the likelihoods are made of."""

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr

Floats = npt.NDArray[np.float64]
LOG_ROOT_TWO_PI = float(np.log(2 * np.pi) / 2)


def log_normal(residual: npt.ArrayLike, sd: npt.ArrayLike) -> Floats:
    """Log-density of a normal distribution at `residual` from its mean.

    >>> float(log_normal(0.0, 1.0).round(4))
    -0.9189
    """
    spread = np.asarray(sd, dtype=np.float64)
    z = np.asarray(residual, dtype=np.float64) / spread
    return np.asarray(-0.5 * z * z - np.log(spread) - LOG_ROOT_TWO_PI)


def log_early(residual: npt.ArrayLike, sd: npt.ArrayLike, mean_early: float) -> Floats:
    """Log-density of (normal error + exponential delay) at `residual`.

    `residual` is landmark minus measured: positive when the measurement came early. This is
    the exponentially modified normal distribution.

    >>> from scipy.stats import exponnorm
    >>> here = float(log_early(0.7, 0.2, 1.2))
    >>> bool(abs(here - exponnorm.logpdf(0.7, 1.2 / 0.2, scale=0.2)) < 1e-9)
    True
    """
    spread = np.asarray(sd, dtype=np.float64)
    value = np.asarray(residual, dtype=np.float64)
    ratio = spread / mean_early
    return np.asarray(
        ratio**2 / 2 - value / mean_early - np.log(mean_early) + log_ndtr(value / spread - ratio)
    )
