"""Absorbent points in many canals at once: where each tip comes to lie, what it meets, its mark.

Everything is an array over n canals. Positions called `past` are in mm beyond the centre of the
foramen (negative: short of it).
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lengthwise.anatomy.canals import Canals
from lengthwise.physics import wicking
from lengthwise.physics.liquids import k_ratio, liquid
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

from .canal_space import NOWHERE_MM, Floats, Space, binds_mm, level_mm, space_of, volume_ul

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Wetness:
    """What decides about points in n canals; every field but `space` has shape (n,).

    Attributes
    ----------
    space : the room inside.
    foramen_mm : centre of the foramen from the coronal reference.
    tissue_past_mm : where paper meets tissue.
    k_mm_per_sqrt_s, entrance_limited : wicking from tissue, and which law holds.
    free_k_mm_per_sqrt_s : wicking from liquid that stands free.
    fold_chance : that a point folds.
    block_mm : height of a plug above the foramen, `NOWHERE_MM` without one.
    pool_ul, seep_ul_per_s : liquid in the canal, and how fast it comes back.
    """

    space: Space
    foramen_mm: Floats
    tissue_past_mm: Floats
    k_mm_per_sqrt_s: Floats
    entrance_limited: Flags
    free_k_mm_per_sqrt_s: Floats
    fold_chance: Floats
    block_mm: Floats
    pool_ul: Floats
    seep_ul_per_s: Floats


@dataclass(frozen=True, eq=False)
class Touch:
    """What came out of n canals.

    Attributes
    ----------
    mark_mm : length of the wet mark; 0 for a dry point.
    stuck : whether the point bound, folded or met a block.
    felt : whether that was felt.
    tip_past_mm : where the tip lay.
    """

    mark_mm: Floats
    stuck: Flags
    felt: Flags
    tip_past_mm: Floats


def draw_wetness(
    canals: Canals, rng: np.random.Generator, *, tissue_sd_mm: float | None = None,
    shaped: bool = True,
) -> Wetness:  # fmt: skip
    """Dry canals of which every one meets paper in its own way.

    Paper meets tissue at the coronal rim of the oblique foramen, a meniscus before; curvature lets
    a point cut the corner; how far tissue grew in or drew back is drawn (`tissue_sd_mm`).

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> rng = np.random.default_rng(1)
    >>> dry = draw_wetness(draw_canals("13", 2000, rng), rng)
    >>> bool(-0.4 < dry.tissue_past_mm.mean() < -0.2)
    True
    """
    n = len(canals)
    spread = c.PAPER_BETWEEN_CANALS_SD_MM.value if tissue_sd_mm is None else tissue_sd_mm
    relative = c.PAPER_K_RELATIVE_SD.value
    return Wetness(
        space=space_of(canals, shaped=shaped),
        foramen_mm=canals.foramen_mm,
        tissue_past_mm=-rim_mm(canals) - c.MENISCUS_MM.value - corner_mm(canals)
        + rng.normal(0, spread, n),
        k_mm_per_sqrt_s=c.PAPER_K_MM_PER_SQRT_S.value
        * (1 + relative * np.clip(rng.normal(size=n), -3, 3)),
        entrance_limited=rng.random(n) < c.ENTRANCE_LAW_PROBABILITY.value,
        free_k_mm_per_sqrt_s=np.full(n, free_k_mm_per_sqrt_s("serum")),
        fold_chance=np.minimum(
            p.FOLD_PER_DEGREE.value * canals.curvature_deg
            * (1.0 if shaped else p.FOLD_UNSHAPED.value), p.MOST_FOLDS.value,
        ),
        block_mm=np.full(n, NOWHERE_MM),
        pool_ul=np.zeros(n),
        seep_ul_per_s=np.zeros(n),
    )  # fmt: skip


def rim_mm(canals: Canals) -> Floats:
    """How far (mm) the coronal rim of an oblique foramen lies short of its centre: D tan φ / 2."""
    return canals.foramen_diameter_mm * np.tan(np.radians(canals.foramen_angle_deg)) / 2


def corner_mm(canals: Canals) -> Floats:
    """How much further (mm) a point reaches that lies against the inner wall of a bend.

    The arc at the distance of half the clearance from the axis is shorter by that times the
    angle.
    """
    return p.POINT_CLEARANCE_MM.value / 2 * np.radians(canals.curvature_deg)


def free_k_mm_per_sqrt_s(name: str) -> float:
    """Wicking constant (mm/√s) of a liquid that stands free: water's, times the liquid's ratio.

    >>> 0.9 < free_k_mm_per_sqrt_s("blood") < 1.3  # about a millimetre in a second
    True
    """
    return p.WATER_K_MM_PER_SQRT_S.value * k_ratio(liquid(name), liquid("water"))


def fill(wet: Wetness, seconds: float) -> Wetness:
    """The canals some time later: what seeps has risen, and stands no higher than the canal."""
    full = wet.space.below_ul[:, -1]
    return replace(wet, pool_ul=np.minimum(wet.pool_ul + wet.seep_ul_per_s * seconds, full))


def pool_of(wet: Wetness, height_mm: Floats) -> Wetness:
    """The canals with liquid standing this high (mm) above the foramen."""
    return replace(wet, pool_ul=volume_ul(wet.space, height_mm))


def try_points(
    wet: Wetness,
    length_mm: npt.ArrayLike,
    *,
    contact_s: npt.ArrayLike,
    size_mm: npt.ArrayLike,
    taper: npt.ArrayLike,
    placement_sd_mm: float,
    rng: np.random.Generator,
    reading_sd_mm: float = c.MARK_READING_SD_MM.value,
) -> tuple[Wetness, Touch]:
    """Put one point into every canal, hold it, take it out, measure its mark.

    Parameters
    ----------
    wet : Wetness
        n canals.
    length_mm, contact_s, size_mm, taper : array_like
        Set length (mm), counted contact (s), tip diameter (mm) and taper (mm/mm); scalars or (n,).
    placement_sd_mm : float
        Of tweezers, ruler and stop (mm).
    rng : numpy.random.Generator
        Where the chance comes from.
    reading_sd_mm : float
        Of a mark read on a ruler (mm).

    Returns
    -------
    (Wetness, Touch)
        The canals afterwards, with what the points took out missing; and what was seen.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> rng = np.random.default_rng(1)
    >>> dry = draw_wetness(draw_canals("13", 1000, rng), rng)
    >>> _, short = try_points(dry, dry.foramen_mm - 2, contact_s=1.0, size_mm=0.2, taper=0.02,
    ...                       placement_sd_mm=0.2, rng=rng)
    >>> bool(np.all(short.mark_mm == 0))
    True
    """
    n = len(wet.foramen_mm)
    contact, size, widening = (np.broadcast_to(v, (n,)) for v in (contact_s, size_mm, taper))
    set_past = np.broadcast_to(length_mm, (n,)) + rng.normal(0, placement_sd_mm, n) - wet.foramen_mm
    folded = rng.random(n) < wet.fold_chance
    fold = np.where(folded, rng.exponential(p.FOLD_SHORT_MEAN_MM.value, n), 0.0)
    stop = np.maximum(binds_mm(wet.space, size, widening), wet.block_mm)
    tip = np.minimum(set_past - fold, -stop)
    stuck = tip < set_past - 1e-9
    felt = stuck & (rng.random(n) < p.STUCK_NOTICED.value)
    held = contact * np.exp(c.CONTACT_TIME_RELATIVE_SD.value * rng.normal(size=n))
    mark, taken = soak(wet, tip, held, size / 2, widening / 2)
    seen = mark + rng.normal(0, reading_sd_mm, n)
    mark = np.where(mark > 0, np.maximum(seen, p.LEAST_MARK_MM.value), 0.0)
    after = replace(wet, pool_ul=wet.pool_ul - taken)
    return after, Touch(mark, stuck, felt, tip)


def soak(
    wet: Wetness, tip: Floats, contact: Floats, radius: Floats, slope: Floats
) -> tuple[Floats, Floats]:
    """Mark (mm) and what the point took out of the pool (µl), with nothing left to chance.

    All arrays of shape (n,): where the tip lies (mm past the foramen), contact (s), radius at the
    tip (mm) and its growth (mm/mm).
    """
    past = np.maximum(tip - wet.tissue_past_mm, 0.0)
    cone = wicking.wicked_length_mm(
        contact, k_mm_per_sqrt_s=wet.k_mm_per_sqrt_s,
        entrance_radius_mm=radius + slope * past, radius_slope=slope,
    )  # fmt: skip
    slow, _ = wicking.entrance_limited_mm_and_slope(
        contact, k_mm_per_sqrt_s=wet.k_mm_per_sqrt_s, entrance_length_mm=c.ENTRANCE_LENGTH_MM.value
    )
    from_tissue = np.where(past > 0, past + np.where(wet.entrance_limited, slow, cone), 0.0)
    dipped = np.maximum(tip + level_mm(wet.space, wet.pool_ul), 0.0)
    share = p.HELD_SHARE.value
    at_surface = radius + slope * dipped
    wicked = wicking.wicked_length_mm(
        contact, k_mm_per_sqrt_s=wet.free_k_mm_per_sqrt_s, entrance_radius_mm=at_surface,
        radius_slope=slope,
    )  # fmt: skip
    # What wets paper above the surface has to come out of the pool: a little wets a little.
    supply = wicking.wetted_by_volume_mm(
        wet.pool_ul, held_share=share, entrance_radius_mm=at_surface, radius_slope=slope
    )
    in_pool = (dipped > 0) & (wet.pool_ul > 0)
    from_pool = np.where(in_pool, dipped + np.minimum(wicked, supply), 0.0)
    soaked = wicking.held_volume_ul(
        from_pool, held_share=share, entrance_radius_mm=radius, radius_slope=slope
    )
    return np.maximum(from_tissue, from_pool), np.minimum(soaked, wet.pool_ul)
