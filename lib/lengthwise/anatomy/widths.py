"""How wide canals are near the apex (Wu et al. 2000, Oral Surg 89:739).

Their medians, with a lognormal spread inside the range that was published for upper canines.
Published widths "at the constriction" are wider than these medians one millimetre from the apex:
they measured something else and are not mixed in. The constriction here is a share of the
canal's own width.
"""

from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from lengthwise.reference.files import read_rows
from lengthwise.reference.shared import read_only

from . import assumptions as a

Floats = npt.NDArray[np.float64]

WIDTH_PLACES_MM = (1.0, 2.0, 5.0)
"""Distances from the apex at which widths were published."""

_SINGLE = {
    "11": "upper_1",
    "12": "upper_2",
    "13": "upper_3",
    "14": "upper_premolar",
    "15": "upper_premolar",
    "41": "lower_incisor",
    "42": "lower_incisor",
    "43": "lower_3",
    "44": "lower_premolar",
    "45": "lower_premolar",
}


def width_group(fdi: str, canal: str) -> str:
    """Rows of the table of canal widths that a canal is drawn from.

    A mesial root with one canal is as wide as a distal one (an assumption); each of two canals
    in a root belongs to ``"one_of_two"``.

    Examples
    --------
    >>> width_group("23", "single"), width_group("26", "P"), width_group("36", "MB")
    ('upper_3', 'upper_molar_palatal', 'one_of_two')
    """
    right = {"2": "1", "3": "4"}.get(fdi[0], fdi[0]) + fdi[1]
    if canal == "single":
        return _SINGLE[right]
    if right > "40" and canal in ("D", "M"):
        return "lower_molar_distal"
    if "16" <= right <= "18" and canal == "P":
        return "upper_molar_palatal"
    return "one_of_two"


def draw_widths(
    fdi: str, canal: str, n: int, rng: np.random.Generator
) -> tuple[Floats, Floats, Floats]:
    """Widths of n canals of one kind.

    Returns
    -------
    (array, array, array)
        Bucco-lingual and mesio-distal widths at `WIDTH_PLACES_MM` from the apex, shape (n, 3),
        and the width of the constriction as an equal area would have it, shape (n,); in mm.

    Examples
    --------
    >>> bl, md, constriction = draw_widths("13", "single", 2000, np.random.default_rng(1))
    >>> bl.shape, bool(np.all(constriction < np.sqrt(bl[:, 0] * md[:, 0])))
    ((2000, 3), True)
    """
    medians_bl, medians_md = _medians(width_group(fdi, canal))
    z = rng.normal(size=(2, n))
    r = a.CANAL_WIDTH_CORRELATION.value
    factor_bl = _factor("bl", z[0])
    factor_md = _factor("md", r * z[0] + np.sqrt(1 - r * r) * z[1])
    bl, md = factor_bl[:, None] * medians_bl, factor_md[:, None] * medians_md
    return bl, md, a.CONSTRICTION_SHARE.value * np.sqrt(bl[:, 0] * md[:, 0])


@cache
def _medians(group: str) -> tuple[Floats, Floats]:
    rows = [row for row in read_rows("canal_diameters") if row["group"] == group]
    bl, md = (np.array([float(row[name]) for row in rows]) for name in ("bl_mm", "md_mm"))
    return read_only((bl, md))


def _factor(direction: str, z: Floats) -> Floats:
    """How many times the median: lognormal, inside the range of upper canines, median 1."""
    (row,) = (r for r in read_rows("canal_diameters") if r["id"] == "upper_3_1")
    median = float(row[f"{direction}_mm"])
    sd = a.CANAL_WIDTH_LOG_SD.value
    low, high = (
        np.log(float(row[f"{direction}_{end}_mm"]) / median) / sd for end in ("low", "high")
    )
    # Each half is squeezed into its own part of the range, which leaves the median where it is.
    tail = np.where(z < 0, ndtr(low), ndtr(-high))
    held = ndtri(tail + (0.5 - tail) * 2 * ndtr(-np.abs(z)))
    return np.asarray(np.exp(sd * np.sign(z) * -held))
