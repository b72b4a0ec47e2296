"""How far a liquid creeps up an absorbent point in a contact time.

Two laws of a uniform strip, which agree at one second and part afterwards. Which of them a
real point follows has not been measured, so that the library carries the difference.

References
----------
.. [1] Lucas 1918, Kolloid-Z. 23:15; Washburn 1921, Phys. Rev. 17:273: length grows as the root
   of time.
"""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def washburn_length_mm(
    contact_s: npt.ArrayLike, *, k_mm_per_sqrt_s: npt.ArrayLike
) -> tuple[Floats, Floats]:
    """Wicked length (mm) of a uniform strip, and its change per relative change of time (mm).

    Parameters
    ----------
    contact_s : array_like
        Contact time (s), any shape, positive.
    k_mm_per_sqrt_s : array_like
        Wicking constant (mm/sqrt(s)), broadcast against the times.

    Examples
    --------
    >>> length, slope = washburn_length_mm(4.0, k_mm_per_sqrt_s=0.3)
    >>> float(length), float(slope)
    (0.6, 0.3)
    """
    time, k = _positive(contact_s, k_mm_per_sqrt_s)
    length = k * np.sqrt(time)
    return length, length / 2


def entrance_limited_length_mm(
    contact_s: npt.ArrayLike, *, k_mm_per_sqrt_s: npt.ArrayLike, entrance_length_mm: float
) -> tuple[Floats, Floats]:
    """Wicked length (mm) when the way in resists like `entrance_length_mm` of paper.

    The liquid obeys l²/2 + l_e l = D t, with D chosen so that both laws wet the same length in
    one second. Returned as in `washburn_length_mm`.

    Examples
    --------
    >>> at_one, _ = entrance_limited_length_mm(1.0, k_mm_per_sqrt_s=0.3, entrance_length_mm=1.5)
    >>> at_five, _ = entrance_limited_length_mm(5.0, k_mm_per_sqrt_s=0.3, entrance_length_mm=1.5)
    >>> round(float(at_one), 3), round(float(at_five), 3)
    (0.3, 1.183)
    """
    time, k = _positive(contact_s, k_mm_per_sqrt_s)
    d = k**2 / 2 + entrance_length_mm * k
    # the positive root of the quadratic, written so that short times lose no digits
    length = 2 * d * time / (entrance_length_mm + np.sqrt(entrance_length_mm**2 + 2 * d * time))
    return length, d * time / (length + entrance_length_mm)


def _positive(contact_s: npt.ArrayLike, k_mm_per_sqrt_s: npt.ArrayLike) -> tuple[Floats, Floats]:
    time = np.asarray(contact_s, dtype=np.float64)
    k = np.asarray(k_mm_per_sqrt_s, dtype=np.float64)
    for name, values in (("contact_s", time), ("k_mm_per_sqrt_s", k)):
        if np.any(values <= 0):
            raise ValueError(
                f"field {name}: got {values.min():g}; allowed is more than 0; give seconds and "
                "mm per root second"
            )
    return time, k
