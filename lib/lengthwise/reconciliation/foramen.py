"""The foramen's width and slope: what paper and electronic reading share in one canal.

Width is lognormal; the angle between the foramen's plane and the canal's cross-section is
half-normal. Both are held at a few nodes over which the posterior is averaged.
"""

import numpy as np
import numpy.typing as npt
from numpy.polynomial.hermite_e import hermegauss
from scipy.special import ndtri

from lengthwise.anatomy.lengths import STEEPEST_FORAMEN_DEG
from lengthwise.reference import constants as c

_nodes, _weights = hermegauss(5)

DIAMETERS_MM: npt.NDArray[np.float64] = c.FORAMEN_DIAMETER_MM.value * np.exp(
    c.FORAMEN_DIAMETER_LOG_SD.value * _nodes
)
"""Nodes of the foramen's diameter (mm)."""

DIAMETER_WEIGHTS: npt.NDArray[np.float64] = _weights / _weights.sum()
"""Probability of each node."""

_ANGLES = 16
ANGLES_RAD: npt.NDArray[np.float64] = np.minimum(
    np.radians(c.FORAMEN_ANGLE_SD_DEG.value)
    * ndtri(0.5 + (np.arange(_ANGLES) + 0.5) / (2 * _ANGLES)),
    np.radians(STEEPEST_FORAMEN_DEG),
)
"""Equally probable nodes of the foramen's angle (radians)."""
