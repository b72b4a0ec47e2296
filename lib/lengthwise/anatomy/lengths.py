"""How the end of the root and the foramen vary between teeth of one kind.

The same two distributions serve whoever draws canals and whoever weighs evidence about one.
"""

from functools import cache

from lengthwise.reference.tables import apex_distance, canal_length

from . import assumptions

FURTHEST_APEX_MM = assumptions.FURTHEST_APEX_MM.value
"""A foramen further than this from the apex would open on the side of the root."""

STEEPEST_FORAMEN_DEG = assumptions.STEEPEST_FORAMEN_DEG.value
"""A foramen whose plane is steeper than this opens on the side of the root."""


@cache
def beta_of(tooth: str, canal: str) -> tuple[float, float, float, float]:
    """Low, high (mm) and the two shapes of the beta distribution of a canal's length.

    It has the published mean and range and this tooth's standard deviation; it is skewed to the
    right by itself where the mean lies nearer to the low end. Length is from the coronal
    reference to the anatomical apex.

    Raises
    ------
    ValueError
        Unknown tooth, or a canal that this tooth is not listed with.

    Examples
    --------
    >>> low, high, a, b = beta_of("13", "single")
    >>> round(low + (high - low) * a / (a + b), 3), b > a  # the mean, and a longer tail apically
    (26.4, True)
    """
    spread = canal_length(tooth, canal)
    width = spread.max_mm - spread.min_mm
    mean = (spread.mean_mm - spread.min_mm) / width
    concentration = mean * (1 - mean) / (spread.sd_mm / width) ** 2 - 1
    return spread.min_mm, spread.max_mm, mean * concentration, (1 - mean) * concentration


def apex_gamma(tooth: str) -> tuple[float, float]:
    """Shape and scale (mm) of the gamma distribution of the distance from foramen to apex.

    From the published mean and its spread; cut at `FURTHEST_APEX_MM` by whoever uses it.

    Raises
    ------
    ValueError
        Unknown tooth.

    Examples
    --------
    >>> shape, scale = apex_gamma("13")
    >>> round(shape * scale, 2)
    0.39
    """
    spread = apex_distance(tooth)
    return (spread.mean_mm / spread.sd_mm) ** 2, spread.sd_mm**2 / spread.mean_mm
