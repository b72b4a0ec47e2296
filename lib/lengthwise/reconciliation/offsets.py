"""From a landmark to the foramen: what repeats in one canal share is integrated out here.

A source speaks about its own landmark: paper about the place where it meets tissue, a radiograph
about the end of the root. The landmark lies some way from the foramen, a way that differs from
canal to canal but not between the repeats in one canal. So the repeats are multiplied on the
landmark first, and their product is then carried to the foramen once.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from lengthwise.reference.shared import read_only

Floats = npt.NDArray[np.float64]

TAP_MM = 0.1
"""Offsets are spaced at this much, half the spread of the measurements they are met with."""

FINE_TAP_MM = 0.05
"""The spacing for measurements that repeat to a few hundredths of a millimetre."""

FLOOR_NATS = 700.0
"""Below this, a likelihood is as good as zero; kept so that contradictions stay comparable."""


@dataclass(frozen=True, eq=False)
class Offsets:
    """A distribution of (landmark - foramen) on equally spaced taps.

    Attributes
    ----------
    first_mm : the first tap (mm), a whole number of taps from zero.
    weights : probability of each tap; shape (taps,), or (cases, taps) where cases differ.
    tap_mm : distance between taps.
    """

    first_mm: float
    weights: Floats
    tap_mm: float = TAP_MM

    @property
    def last_mm(self) -> float:
        """The last tap (mm)."""
        return float(self.first_mm + self.tap_mm * (self.weights.shape[-1] - 1))


def binned(
    cumulative: Callable[[Floats], Floats], first_mm: float, last_mm: float, tap_mm: float = TAP_MM
) -> Offsets:
    """A continuous distribution of offsets, cut to `first_mm`..`last_mm` and put on taps.

    `cumulative` maps edges (mm) to probabilities, shape (..., edges).

    >>> binned(lambda mm: mm, 0.0, 0.3).weights.round(3).tolist()
    [0.167, 0.333, 0.333, 0.167]
    """
    low, high = (round(value / tap_mm) for value in (first_mm, last_mm))
    taps = np.arange(low, high + 1) * tap_mm
    edges = np.concatenate([taps[:1], (taps[1:] + taps[:-1]) / 2, taps[-1:]])
    weights = np.diff(cumulative(edges), axis=-1)
    weights /= weights.sum(axis=-1, keepdims=True)
    return read_only(Offsets(float(taps[0]), weights, tap_mm))


def carry(log_likelihood: Floats, offsets: Offsets, step_mm: float) -> Floats:
    """Integrate a landmark's log-likelihood over the offsets.

    Parameters
    ----------
    log_likelihood : array, (cases, points + extra)
        On a grid that begins `first_mm` before the foramen's grid and ends `last_mm` after it.
    offsets : Offsets
        Landmark minus foramen.
    step_mm : float
        Grid step; a tap is a whole number of steps.

    Returns
    -------
    array, (cases, points)
        Log of the sum over taps of weight times likelihood(foramen + tap).
    """
    stride = round(offsets.tap_mm / step_mm)
    taps = offsets.weights.shape[-1]
    top = log_likelihood.max(axis=-1, keepdims=True)
    likelihood = np.exp(np.maximum(log_likelihood - top, -FLOOR_NATS))
    # One window of the grid for each foramen: a view, so nothing is copied.
    windows = sliding_window_view(likelihood, stride * (taps - 1) + 1, axis=-1)[..., ::stride]
    weights = np.broadcast_to(offsets.weights, (*log_likelihood.shape[:-1], taps))
    total = np.einsum("...pt,...t->...p", windows, weights)
    return np.asarray(np.log(total) + top)


def log_mean_exp(log_values: Floats, weights: Floats) -> Floats:
    """Log of the weighted mean of exp(values) over the first axis; `weights` sum to one.

    >>> float(log_mean_exp(np.log([[1.0], [3.0]]), np.array([0.5, 0.5]))[0].round(4))
    0.6931
    """
    # scipy.special.logsumexp says the same in three times as long, in the innermost loop.
    top = log_values.max(axis=0)
    return np.asarray(np.log(np.tensordot(weights, np.exp(log_values - top), axes=1)) + top)


def mix(trust: Floats, sound: Floats, unsound: Floats) -> Floats:
    """Log-likelihood of a source that is sound with probability `trust` (0 and 1 allowed)."""
    with np.errstate(divide="ignore"):
        return np.logaddexp(np.log(trust) + sound, np.log1p(-trust) + unsound)


def sum_by(index: npt.NDArray[np.intp], rows: Floats, count: int) -> Floats:
    """Sum `rows` (m, ...) into `count` groups; a group without rows is zero.

    >>> sum_by(np.array([0, 0, 2]), np.array([[1.0], [2.0], [5.0]]), 3).ravel().tolist()
    [3.0, 0.0, 5.0]
    """
    total = np.zeros((count, *rows.shape[1:]))
    for group, row in zip(index, rows, strict=True):
        total[group] += row  # rows are long and few: faster than np.add.at
    return total
