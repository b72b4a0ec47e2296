"""Sittings with paper points on the bench: many canals, each tried as the procedure says.

A film gives the estimated length; points begin half a millimetre short of it and go on by half a
millimetre until dry turns wet, never more than a millimetre beyond; then the last length repeats.
"""

from dataclasses import dataclass, replace

import numpy as np
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.point_touch import (
    draw_wetness,
    fill,
    free_k_mm_per_sqrt_s,
    pool_of,
    try_points,
)
from lengthwise.evidence import Context, Evidence, PointTrial, PreoperativeFilm
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

MOST_STEPS = 14


@dataclass(frozen=True)
class Sitting:
    """What was drawn for n canals: truth, what is visible, and every point that was tried."""

    foramen_mm: np.ndarray
    state: np.ndarray  # sound, bound, draining, steady: hidden
    visible: np.ndarray  # dry, moist, blood: written down
    repeats: np.ndarray
    film_mm: np.ndarray
    length_mm: np.ndarray  # (n, points); NaN where no point was tried
    mark_mm: np.ndarray
    felt: np.ndarray
    tooth: str
    contact_s: float = 1.0

    def evidence(self, i):
        """Canal i as somebody would write it down."""
        records = [
            PreoperativeFilm(tooth_length_mm=float(self.film_mm[i]), technique="paralleling")
        ]
        liquid = {"dry": "clear", "moist": "clear", "blood": "blood"}[self.visible[i]]
        for length, mark, felt in zip(
            self.length_mm[i], self.mark_mm[i], self.felt[i], strict=True
        ):
            if not np.isnan(length):
                records.append(
                    PointTrial(
                        length_mm=float(length),
                        contact_s=self.contact_s,
                        wet_mm=float(min(mark, length)),
                        liquid=liquid if mark > 0 else None,
                        ran_freely=not felt,
                        liquid_in_canal=str(self.visible[i]),
                    )
                )
        return Evidence(
            tooth=self.tooth,
            canal="single",
            reference_point="cusp tip",
            context=Context(crown="intact"),
            records=tuple(records),
        )


def draw_states(visible, rng):
    """Hidden state of each canal, as often unsound as the library reckons; judged shares."""
    trust = np.where(visible == "dry", c.PAPER_TRUST.value, c.PAPER_TRUST_MOIST.value)
    u = rng.random(len(visible))
    bound, steady = c.BOUND_SHARE.value, c.STEADY_SHARE.value
    kind = np.where(u < bound, "bound", np.where(u < bound + steady, "steady", "draining"))
    return np.where(rng.random(len(visible)) < trust, "sound", kind)


def wet_canals(canals, state, visible, rng, tissue_sd_mm=None):
    """The canals with what their state means: a plug, liquid that is left, liquid that comes."""
    n = len(canals)
    wet = draw_wetness(canals, rng, tissue_sd_mm=tissue_sd_mm)
    free = {"blood": "blood", "dry": "serum", "moist": "serum"}
    height = np.minimum(rng.exponential(c.POOL_HEIGHT_MEAN_MM.value, n), 3.0)
    level = np.where(state == "draining", np.maximum(height - wet.tissue_past_mm, 0.0), 0.0)
    wet = pool_of(wet, level)
    rate = p.OOZE_UL_PER_S.value * np.exp(0.8 * rng.normal(size=n))
    plug = rng.uniform(0.3, p.BLOCK_HIGHEST_MM.value, n)
    return replace(
        wet,
        free_k_mm_per_sqrt_s=np.array([free_k_mm_per_sqrt_s(free[v]) for v in visible]),
        block_mm=np.where(state == "bound", plug, wet.block_mm),
        pool_ul=np.where(state == "draining", wet.pool_ul, 0.0),
        seep_ul_per_s=np.where(state == "steady", rate, 0.0),
    )


def sit(tooth, n, rng, *, contact_s=1.0, size_mm=0.20, placement_sd_mm=None, canals=None,
        visible=None, state=None, repeats=None, tissue_sd_mm=None, estimate_mm=None):  # fmt: skip
    """n sittings in canals of one kind of tooth; a film gives the estimate if nothing else does."""
    placement = c.PLACEMENT_SD_MM.value if placement_sd_mm is None else placement_sd_mm
    canals = draw_canals(tooth, n, rng) if canals is None else canals
    n = len(canals)
    if visible is None:
        visible = rng.choice(["dry", "moist", "blood"], n, p=[0.6, 0.2, 0.2])
    state = draw_states(visible, rng) if state is None else state
    repeats = rng.integers(1, 5, n) if repeats is None else repeats
    wet = fill(wet_canals(canals, state, visible, rng, tissue_sd_mm), 60.0)
    magnification = c.MAGNIFICATION_PARALLELING.value
    relative = c.MAGNIFICATION_SD_PARALLELING.value / magnification
    spread = np.hypot(c.FILM_READER_SD_PARALLELING_MM.value, canals.apex_mm * relative)
    film = (canals.apex_mm + rng.normal(0, spread)) * magnification
    estimate = film / magnification - 1.0 if estimate_mm is None else estimate_mm
    length = np.round((estimate - 0.5) * 2) / 2
    tried = np.full((n, MOST_STEPS), np.nan)
    marks, felt = np.full((n, MOST_STEPS), np.nan), np.zeros((n, MOST_STEPS), dtype=bool)
    turned = np.zeros(n, dtype=bool)
    left = repeats.copy()
    first_wet, before = np.full(n, np.inf), np.full(n, np.nan)
    for j in range(MOST_STEPS):
        active = ~turned | (left > 0)
        if not active.any():
            break
        wet = fill(wet, p.BETWEEN_POINTS_S.value)
        after, touch = try_points(
            wet, length, contact_s=contact_s, size_mm=size_mm, taper=0.02,
            placement_sd_mm=placement, rng=rng,
        )  # fmt: skip
        wet = replace(wet, pool_ul=np.where(active, after.pool_ul, wet.pool_ul))
        tried[active, j], marks[active, j] = length[active], touch.mark_mm[active]
        felt[active, j] = touch.felt[active]
        is_wet = touch.mark_mm > 0
        first_wet = np.where(active & is_wet, np.minimum(first_wet, length), first_wet)
        left = np.where(turned & active, left - 1, left)
        now = active & ~turned & (before == ~is_wet)  # NaN before the first: never equal
        too_long = active & ~turned & ~is_wet & (length + 0.5 > estimate + 1.0)
        before = np.where(active, is_wet.astype(float), before)
        turned |= now | too_long
        onward = np.where(is_wet, length - 0.5, length + 0.5)
        length = np.where(turned, np.where(np.isinf(first_wet), length, first_wet), onward)
    return Sitting(
        canals.foramen_mm, state, visible, repeats, film, tried, marks, felt, tooth, contact_s
    )
