"""The meter's curve: from the quotient of two magnitudes to an indicated value.

The curve is calibrated once, on the population's median canal, constriction included. Only the
foramen signal (indicated 0) is a landmark; other values are millimetres of the calibration canal
and of no other.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lengthwise.physics.impedance import impedance_ohm, quotient
from lengthwise.physics.line import File, Filling, Floats, LineShape, Materials
from lengthwise.reference import electrical as e
from lengthwise.reference.electrical_draws import median_canal

_STEP_MM = 0.05
_FURTHEST_PAST, _FURTHEST_SHORT = 10, 60  # steps: 0.5 mm past to 3 mm short
SHORT_MM: Floats = np.asarray(
    _STEP_MM * np.arange(-_FURTHEST_PAST, _FURTHEST_SHORT + 1), np.float64
)
"""Distances short of the foramen of the median canal over which a curve is taken."""


@dataclass(frozen=True, eq=False)
class MeterCurve:
    """Quotients on the median canal; one curve a draw of the materials.

    Attributes
    ----------
    quotient
        At `SHORT_MM`, shape (n, places). Outside its monotone ramp a row is held at the ramp's end.
    past_end_mm, short_end_mm
        Indicated values at the two ends of the ramp, (n,): the display saturates there.

    Examples
    --------
    >>> curve = calibration_curve(Materials())
    >>> round(float(curve.indicated(curve.foramen_quotient)[0]), 6)
    0.0
    >>> curve.indicated(np.array([0.05, 0.999])) == [curve.past_end_mm[0], curve.short_end_mm[0]]
    array([ True,  True])
    """

    quotient: Floats
    past_end_mm: Floats
    short_end_mm: Floats

    def __len__(self) -> int:
        return len(self.quotient)

    @property
    def foramen_quotient(self) -> Floats:
        """Quotient at which 0 is indicated, (n,)."""
        return self.quotient[:, _FURTHEST_PAST]

    def indicated(self, quotient: npt.ArrayLike) -> Floats:
        """Indicated value (mm, positive short) of quotients, in their shape.

        NaN stays NaN; outside the ramp the value is that of its end. With one curve quotients may
        have any shape, with n curves it is (n, ...).

        Raises
        ------
        ValueError
            The number of rows is not that of the curves.
        """
        q = np.asarray(quotient, dtype=np.float64)
        if len(self) == 1:
            return self._row(0, q)
        if q.ndim == 0 or len(q) != len(self):
            raise ValueError(
                f"field quotient: got shape {q.shape} for {len(self)} curves; allowed is one row a "
                "curve; match the draws"
            )
        return np.stack([self._row(i, row) for i, row in enumerate(q)])

    def _row(self, i: int, q: Floats) -> Floats:
        on = np.clip(SHORT_MM, self.past_end_mm[i], self.short_end_mm[i]) == SHORT_MM
        return np.asarray(np.interp(q, self.quotient[i, on], SHORT_MM[on]))

    def foramen_signal_mm(self, past_mm: Floats, quotient: Floats) -> Floats:
        """Place (mm past the foramen, negative short) where a file going in first reads 0, (n,).

        `past_mm` (places,) or (n, places) grows; `quotient` is (n, places). NaN where the signal
        does not come; the first place where it is there from the start.

        Examples
        --------
        >>> curve = calibration_curve(Materials())
        >>> float(curve.foramen_signal_mm(-SHORT_MM[::-1], curve.quotient[:, ::-1])[0])
        0.0
        """
        past = np.broadcast_to(past_mm, np.shape(quotient))
        above = np.asarray(quotient) - self.foramen_quotient[:, None]
        there = above <= 0
        first = there.argmax(axis=1)
        rows, before = np.arange(len(past)), np.maximum(first - 1, 0)
        p0, p1, a0, a1 = (each[rows, at] for each in (past, above) for at in (before, first))
        share = np.divide(a0, a0 - a1, out=np.ones_like(a0), where=first > 0)
        return np.where(there.any(axis=1), p0 + share * (p1 - p0), np.nan)


def calibration_curve(materials: Materials, canal: LineShape | None = None) -> MeterCurve:
    """Curves on a canal in saline, read with a size 15.

    Each field of `materials` is a number or an array (n,). The canal is the median one; another,
    n times, shows what hangs on that choice.
    """
    rows = np.broadcast(*(np.atleast_1d(v) for v in vars(materials).values())).size
    q = quotient(
        impedance_ohm(
            median_shape(rows) if canal is None else canal,
            File(e.CALIBRATION_FILE_MM.value),
            Filling(e.SALINE_OHM_M.value),
            materials,
            -SHORT_MM,
        )
    )
    # The ramp goes from the foramen both ways as far as the quotient grows with the distance.
    falls = np.diff(q, axis=1) <= 0
    coronal, apical = falls[:, _FURTHEST_PAST:], falls[:, _FURTHEST_PAST - 1 :: -1]
    last = _FURTHEST_PAST + _until(coronal)
    first = _FURTHEST_PAST - _until(apical)
    at = np.clip(np.arange(q.shape[1]), first[:, None], last[:, None])
    return MeterCurve(np.take_along_axis(q, at, axis=1), SHORT_MM[first], SHORT_MM[last])


def median_shape(rows: int = 1) -> LineShape:
    """The population's median canal, `rows` times.

    Examples
    --------
    >>> len(median_shape(3)), round(float(median_shape().narrowest_mm[0]), 2)
    (3, 0.58)
    """
    places = median_canal()
    height, canal, root = (
        np.tile([getattr(place, name) for place in places], (rows, 1))
        for name in ("height_mm", "canal_diameter_mm", "root_diameter_mm")
    )
    return LineShape(height, canal / 2, root / 2)


def _until(stops: npt.NDArray[np.bool_]) -> npt.NDArray[np.intp]:
    """How many steps go well before the first that does not, row by row."""
    return np.asarray(np.where(stops.any(axis=1), stops.argmax(axis=1), stops.shape[1]))
