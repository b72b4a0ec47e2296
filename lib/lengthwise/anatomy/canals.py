"""A population of root canals, drawn as arrays.

Lengths are in mm along the canal from the coronal reference (incisal edge or cusp tip), growing
towards the apex. Which published figures the population meets, and which it cannot, is shown by
the tests of published figures.

The foramen's distance from the apex is one continuous distribution without a heap at zero:
"at the tip" is a matter of how finely one looks (`share_at_tip`). Under it Martos et al. 2009
(40 % of all roots at the tip) and Burch & Hulen 1972 (92.4 % of all teeth deviate) are met at
once: the one by somebody who calls everything within 0.4 mm "the tip", the other by somebody who
sees a deviation of 0.1 mm.
"""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import gammainc, gammaincinv

from lengthwise.reference import constants as c
from lengthwise.reference.files import read_rows
from lengthwise.reference.tables import canal_length

from . import assumptions as a
from .lengths import FURTHEST_APEX_MM, STEEPEST_FORAMEN_DEG, apex_gamma, beta_of
from .teeth import canal_or_longest, outline
from .turns import draw_curvature, draw_shortening, draw_side
from .widths import WIDTH_PLACES_MM, draw_widths

__all__ = ["WIDTH_PLACES_MM", "Canal", "Canals", "draw_canals", "share_at_tip"]

Floats = npt.NDArray[np.float64]
Generator = np.random.Generator


@dataclass(frozen=True)
class Canal:
    """One canal; the fields of `Canals`, as numbers."""

    fdi: str
    canal: str
    age_years: float
    apex_mm: float
    foramen_mm: float
    constriction_mm: float
    cej_mm: float
    foramen_diameter_mm: float
    foramen_angle_deg: float
    offset_buccal_mm: float
    offset_distal_mm: float
    constriction_diameter_mm: float
    diameter_bl_mm: tuple[float, float, float]
    diameter_md_mm: tuple[float, float, float]
    curvature_deg: float
    curvature_direction_deg: float
    shortening_flare_mm: float
    shortening_shaping_mm: float


@dataclass(frozen=True, eq=False)
class Canals:
    """Canals of one kind of tooth; arrays of shape (n,) unless said otherwise.

    Attributes
    ----------
    fdi, canal
        The tooth and the name of the canal.
    age_years
        Age of the patient.
    apex_mm, foramen_mm, constriction_mm, cej_mm
        Anatomical apex, centre of the foramen projected on the canal's axis, constriction, and
        where crown meets root.
    foramen_diameter_mm, foramen_angle_deg
        Width of the foramen, and the angle of its plane with the canal's cross-section.
    offset_buccal_mm, offset_distal_mm
        How far the foramen lies from the root's axis; negative is lingual, mesial.
    constriction_diameter_mm
        Narrowest width.
    diameter_bl_mm, diameter_md_mm
        Widths at `WIDTH_PLACES_MM` (1, 2 and 5 mm) from the apex, shape (n, 3).
    curvature_deg, curvature_direction_deg
        How much the canal is curved, and to which side: 0 distal, 90 buccal.
    shortening_flare_mm, shortening_shaping_mm
        What the canal loses when it is flared, and when it is shaped afterwards.
    """

    fdi: str
    canal: str
    age_years: Floats
    apex_mm: Floats
    foramen_mm: Floats
    constriction_mm: Floats
    cej_mm: Floats
    foramen_diameter_mm: Floats
    foramen_angle_deg: Floats
    offset_buccal_mm: Floats
    offset_distal_mm: Floats
    constriction_diameter_mm: Floats
    diameter_bl_mm: Floats
    diameter_md_mm: Floats
    curvature_deg: Floats
    curvature_direction_deg: Floats
    shortening_flare_mm: Floats
    shortening_shaping_mm: Floats

    def __len__(self) -> int:
        return len(self.apex_mm)

    def one(self, i: int) -> Canal:
        """Canal number i of them, as numbers.

        Raises
        ------
        IndexError
            There are fewer canals.
        """
        taken = {f.name: _plain(getattr(self, f.name), i) for f in fields(self)}
        return Canal(**taken)

    def some(self, which: npt.ArrayLike) -> "Canals":
        """Those of some rows, in this order; or where a list of flags is true."""
        rows = np.atleast_1d(np.asarray(which))
        rows = rows if rows.size else rows.astype(np.intp)  # an empty list is one of floats
        values: dict[str, Any] = {f.name: getattr(self, f.name) for f in fields(self)}
        taken: dict[str, Any] = {
            name: value if isinstance(value, str) else value[rows] for name, value in values.items()
        }
        return Canals(**taken)


def _plain(value: str | Floats, i: int) -> Any:
    if isinstance(value, str):
        return value
    return tuple(value[i].tolist()) if value.ndim == 2 else float(value[i])


def draw_canals(
    fdi: str,
    n: int,
    rng: Generator,
    *,
    canal: str | None = None,
    age_years: float | None = None,
) -> Canals:
    """Draw n canals of one kind of tooth.

    Parameters
    ----------
    fdi : str
        Two digits, such as ``"13"``.
    n : int
        How many, at least 1.
    rng : numpy.random.Generator
        Where the chance comes from.
    canal : str, optional
        Name of the canal; that of the longest root by default.
    age_years : float, optional
        Age of all patients; by default ages are drawn evenly between 18 and 80.

    Returns
    -------
    Canals
        Arrays of shape (n,).

    Raises
    ------
    ValueError
        Unknown tooth, a canal that it does not have, fewer than one canal, or an age at which
        apices may be open.

    Examples
    --------
    >>> canals = draw_canals("13", 1000, np.random.default_rng(1))
    >>> canals.apex_mm.shape, round(float(canals.apex_mm.mean()), 1)
    ((1000,), 26.4)
    >>> bool(np.all(canals.constriction_mm < canals.foramen_mm))
    True
    >>> canals.one(0).canal
    'single'
    """
    _check(n, age_years)
    outside = outline(fdi, canal)
    name = canal_or_longest(fdi, canal)
    low, high, alpha, beta = beta_of(outside.fdi, name)
    apex = low + (high - low) * rng.beta(alpha, beta, n)
    spread_mm = canal_length(outside.fdi, name).sd_mm
    cej = _cervix(outside.cej_mm, apex - outside.length_mm, spread_mm, rng)
    age = rng.uniform(a.YOUNGEST_YEARS.value, a.OLDEST_YEARS.value, n)
    if age_years is not None:
        age = np.full(n, float(age_years))
    from_apex = _apex_distances(outside.fdi, n, rng)
    foramen = apex - from_apex
    shape = a.CONSTRICTION_RELATIVE_SD.value**-2
    below = rng.gamma(shape, by_age("constriction_to_foramen", age) / shape)
    log_sd = c.FORAMEN_DIAMETER_LOG_SD.value
    # Kuttler printed means; the mean of a lognormal lies above its median.
    diameter = by_age("foramen_diameter", age) * np.exp(rng.normal(-(log_sd**2) / 2, log_sd, n))
    angle = np.minimum(np.abs(rng.normal(0, c.FORAMEN_ANGLE_SD_DEG.value, n)), STEEPEST_FORAMEN_DEG)
    buccal, distal = draw_side(n, rng)
    half_md, half_bl = outside.root_half_widths(from_apex, apex - cej)
    # The foramen opens on the surface of the root's rounded end, an ellipse at this level.
    reach = 1 / np.hypot(distal / half_md, buccal / half_bl)
    bl, md, narrowest = draw_widths(outside.fdi, name, n, rng)
    curvature, bend = draw_curvature(outside.fdi, n, rng)
    flare, shaping = draw_shortening(bend, rng)
    return Canals(
        fdi=outside.fdi,
        canal=name,
        age_years=age,
        apex_mm=apex,
        foramen_mm=foramen,
        constriction_mm=foramen - below,
        cej_mm=cej,
        foramen_diameter_mm=diameter,
        foramen_angle_deg=angle,
        offset_buccal_mm=reach * buccal,
        offset_distal_mm=reach * distal,
        constriction_diameter_mm=np.minimum(narrowest, diameter),
        diameter_bl_mm=bl,
        diameter_md_mm=md,
        curvature_deg=curvature,
        curvature_direction_deg=rng.normal(0, a.CURVATURE_DIRECTION_SD_DEG.value, n),
        shortening_flare_mm=flare,
        shortening_shaping_mm=shaping,
    )


def share_at_tip(fdi: str, closer_than_mm: float) -> float:
    """Share of these teeth whose foramen somebody calls "at the tip" who looks this finely.

    None is closer than 0, and all are closer than the furthest that is drawn.

    Examples
    --------
    >>> round(share_at_tip("13", 0.1), 2), round(share_at_tip("13", 0.3), 2)
    (0.13, 0.48)
    """
    shape, scale = apex_gamma(fdi)
    within_mm = min(max(closer_than_mm, 0.0), FURTHEST_APEX_MM)
    return float(gammainc(shape, within_mm / scale) / gammainc(shape, FURTHEST_APEX_MM / scale))


def by_age(quantity: str, age_years: Floats) -> Floats:
    """Mean (mm) at an age: Kuttler's two groups, and a straight line between them.

    `quantity` is ``"constriction_to_foramen"`` or ``"foramen_diameter"``.

    Examples
    --------
    >>> by_age("foramen_diameter", np.array([20.0, 40.0, 70.0])).round(3).tolist()
    [0.502, 0.592, 0.681]
    """
    means = {row["id"]: row["mean_mm"] for row in read_rows("apical_landmarks")}
    ends = [float(means[f"{quantity}_{group}"]) for group in ("18_25", "55_up")]
    years = [a.AGE_TERM_FROM_YEARS.value, a.AGE_TERM_TO_YEARS.value]
    return np.asarray(np.interp(age_years, years, ends))


def _check(n: int, age_years: float | None) -> None:
    if n < 1:
        raise ValueError(f"field n: got {n}; allowed is 1 or more; say how many canals to draw")
    low, high = a.YOUNGEST_YEARS.value, a.OLDEST_YEARS.value
    if age_years is not None and not low <= age_years <= high:
        raise ValueError(
            f"field age_years: got {age_years:g}; allowed is {low:g} to {high:g} (the figures are "
            "for closed apices); choose an age in it"
        )


def _cervix(mean_mm: float, longer_mm: Floats, sd_mm: float, rng: Generator) -> Floats:
    """Where crown meets root: crown and root vary apart, so their lengths are uncorrelated."""
    crown_sd = a.CROWN_SD_MM.value
    own = (crown_sd / sd_mm) ** 2
    rest = crown_sd * float(np.sqrt(1 - own))
    return mean_mm + own * longer_mm + rest * _held(rng.normal(size=len(longer_mm)))


def _held(z: Floats) -> Floats:
    """A standard normal kept within three of its deviations: there is no tooth without a root."""
    return np.clip(z, -3.0, 3.0)


def _apex_distances(fdi: str, n: int, rng: Generator) -> Floats:
    shape, scale = apex_gamma(fdi)
    most = gammainc(shape, FURTHEST_APEX_MM / scale)
    return np.asarray(scale * gammaincinv(shape, rng.uniform(0, most, n)))
