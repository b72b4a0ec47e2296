"""Lengths are told in tenths of a millimetre; what is told of two of them has to add up.

Beside 20.3 and 21.1 mm nobody may read "0.9 mm apart", even where the unrounded lengths are.
"""

from __future__ import annotations


def apart_mm(one_mm: float, other_mm: float) -> float:
    """The first length less the second (mm), each as it is shown: to a tenth.

    >>> f"{21.14 - 20.26:.1f}", f"{apart_mm(21.14, 20.26):.1f}"
    ('0.9', '0.8')
    """
    # NumPy rounds a number of its own in another way than print does, so a plain one is made first.
    return round(round(float(one_mm), 1) - round(float(other_mm), 1), 1)


def spread_mm(lengths_mm: list[float]) -> float:
    """How far apart the outermost lengths (mm) are, as they are shown.

    >>> spread_mm([20.26, 21.14, 20.7])
    0.8
    """
    return apart_mm(max(lengths_mm), min(lengths_mm))
