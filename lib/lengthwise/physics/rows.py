"""Look-ups in many tables at once, each a row of its own."""

from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def interp_rows(
    x: Floats, row: npt.NDArray[np.intp], xs: Floats, *of: Floats
) -> tuple[npt.NDArray[Any], ...]:
    """On straight lines along some rows, what each of several quantities is at x.

    Parameters
    ----------
    x : array
        Places, of any shape; beyond a row's ends they are held there.
    row : array
        Which row each place is looked up in; broadcast against `x`.
    xs : array (n, k)
        Places of the rows, growing in each.
    of : array (n, k)
        Values there, of each quantity.

    Examples
    --------
    >>> xs = np.array([[0.0, 1.0], [5.0, 9.0]])
    >>> (found,) = interp_rows(np.array([0.5, 6.0, 99.0]), np.array([0, 1, 1]), xs, 10 * xs)
    >>> found.tolist()
    [5.0, 60.0, 90.0]
    """
    # All rows end to end on one axis, so that one look-up serves them all.
    starts = (float(np.ptp(xs)) + 1.0) * np.arange(len(xs))
    axis = (xs + starts[:, None]).ravel()
    places = np.clip(x, xs[row, 0], xs[row, -1]) + starts[row]
    return tuple(np.interp(places, axis, values.ravel()) for values in of)
