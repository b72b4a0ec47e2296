"""The canal of lesson 04, and what one point meets in it when it is placed exactly.

The canal is invented: an upper canine, prepared, patent, hardly curved, whose foramen is cut at a
slant. It can be dry, so that paper touches tissue only, or have blood or water standing in it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np

from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_space import binds_mm, level_mm, space_of, volume_ul
from lengthwise.bench.canal_state import CanalState, as_canals, draw_state, wetness_of
from lengthwise.bench.point_actions import TryPoint
from lengthwise.bench.point_touch import fill, soak
from lengthwise.physics.wicking import entrance_limited_mm_and_slope, washburn_mm_and_slope
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

Liquid = Literal["tissue", "blood", "water"]
SEED = 20
ESTIMATED_MM = 24.0
"""Estimated working length of this canal: a corrected image minus 1 mm."""

FURTHEST_MM = ESTIMATED_MM + 1.0
"""No point goes further than the limit that the estimated length gives."""

STANDS_MM: dict[Liquid, float] = {"tissue": 0.0, "blood": 0.5, "water": 1.5}
"""How high liquid stands above the foramen at the start."""


@dataclass(frozen=True)
class Meeting:
    """What a point meets that is placed exactly. Lengths in mm from the reference point.

    Attributes
    ----------
    point : the point: its set length, contact, size and taper.
    liquid : what it meets first.
    foramen_mm : centre of the foramen.
    surface_mm : where the liquid begins: tissue, or what stands before it.
    tip_mm : where the tip comes to lie.
    overshoot_mm : how much of the point is beyond the surface.
    wicked_mm : how far liquid crept above the surface, by the two laws, the shorter first.
    """

    point: TryPoint
    liquid: Liquid
    foramen_mm: float
    surface_mm: float
    tip_mm: float
    overshoot_mm: float
    wicked_mm: tuple[float, float]

    @property
    def binds(self) -> bool:
        """Whether the point sticks before it reaches its length."""
        return self.tip_mm < self.point.length_mm - 1e-9

    @property
    def wet(self) -> bool:
        """Whether there is a mark at all."""
        return self.overshoot_mm > 0


@cache
def lesson_state(liquid: Liquid = "tissue") -> CanalState:
    """The lesson's canal with this liquid in it, its walls dried.

    Examples
    --------
    >>> state = lesson_state()
    >>> state.canal.foramen_mm, state.cause, state.pool_ul
    (24.4, 'none', 0.0)
    """
    rng = np.random.default_rng(SEED)
    drawn = draw_canals("13", 1, rng).one(0)
    canal = replace(
        drawn, apex_mm=24.9, foramen_mm=24.4, constriction_mm=23.8, foramen_diameter_mm=0.55,
        foramen_angle_deg=30.0, constriction_diameter_mm=0.28, curvature_deg=5.0,
    )  # fmt: skip
    dried = replace(
        draw_state(canal, rng), pool_ul=0.0, wall_moisture=0.0, irrigant="none",
        liquid_in_canal="dry",
    )  # fmt: skip
    if liquid == "tissue":
        return dried
    height = np.array([STANDS_MM[liquid]])
    filled = replace(dried, pool_ul=float(volume_ul(space_of(as_canals(canal)), height)[0]))
    if liquid == "water":
        return replace(filled, irrigant="saline", liquid_in_canal="irrigant")
    return replace(filled, bleeding="oozing", cause="over_length", liquid_in_canal="blood")


def meet(state: CanalState, liquid: Liquid, point: TryPoint) -> Meeting:
    """What the next point meets in this canal, with nothing left to chance.

    Examples
    --------
    >>> one = meet(lesson_state(), "tissue", TryPoint(24.5, contact_s=1.0))
    >>> five = meet(lesson_state(), "tissue", TryPoint(24.5, contact_s=5.0))
    >>> one.overshoot_mm == five.overshoot_mm, one.wicked_mm[1] < five.wicked_mm[0]
    (True, True)
    """
    wet = fill(wetness_of(state), p.BETWEEN_POINTS_S.value)
    foramen = state.canal.foramen_mm
    radius, slope = point.size / 200, point.taper / 2
    stop = np.maximum(binds_mm(wet.space, 2 * radius, point.taper), wet.block_mm)
    tip = np.minimum(point.length_mm - foramen, -stop)

    def mark_mm(contact_s: float, entrance_limited: bool) -> float:
        lawful = replace(wet, entrance_limited=np.array([entrance_limited]))
        contact, at_tip, widening = np.array([contact_s]), np.array([radius]), np.array([slope])
        return float(soak(lawful, tip, contact, at_tip, widening)[0][0])

    overshoot = mark_mm(0.0, False)  # nothing wicks in no time
    by_laws = sorted(mark_mm(point.contact_s, law) - overshoot for law in (False, True))
    level, tissue = float(level_mm(wet.space, wet.pool_ul)[0]), float(wet.tissue_past_mm[0])
    # A little that is left below the tissue's surface still creeps into the paper.
    return Meeting(
        point=point,
        liquid=liquid if float(wet.pool_ul[0]) > 0 else "tissue",
        foramen_mm=foramen,
        surface_mm=foramen + min(tissue, -level),
        tip_mm=foramen + float(tip[0]),
        overshoot_mm=overshoot,
        wicked_mm=(by_laws[0], by_laws[1]),
    )


def allowance_mm(contact_s: float) -> tuple[float, float]:
    """What wicks from a touch of tissue (mm): the middle of both laws, and half their difference.

    This is the correction that can be made without knowing the canal.

    Examples
    --------
    >>> [round(mm, 2) for mm in (*allowance_mm(1.0), *allowance_mm(5.0))]
    [0.3, 0.0, 0.93, 0.26]
    """
    k = c.PAPER_K_MM_PER_SQRT_S.value
    free = float(washburn_mm_and_slope(contact_s, k_mm_per_sqrt_s=k)[0])
    slow = float(
        entrance_limited_mm_and_slope(
            contact_s, k_mm_per_sqrt_s=k, entrance_length_mm=c.ENTRANCE_LENGTH_MM.value
        )[0]
    )
    return (free + slow) / 2, abs(free - slow) / 2
