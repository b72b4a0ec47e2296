"""The state of one canal while it is dried and tried with points. Nothing here ever changes:
an action gives a new state.
"""

from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any, Literal

import numpy as np

from lengthwise.anatomy.canals import Canal, Canals
from lengthwise.evidence.records import Liquid
from lengthwise.reference import points as p
from lengthwise.reference.shared import read_only

from .canal_space import NOWHERE_MM, Space, space_of
from .point_touch import Wetness, draw_wetness, free_k_mm_per_sqrt_s

Bleeding = Literal["none", "oozing", "brisk"]
Cause = Literal[
    "none", "over_length", "tissue_remnant", "perforation", "resorption", "sinus", "seeping"
]
Suspicion = Literal["open_apex", "perforation", "resorption", "sinus"]
"""What the clinic has reason to suspect. No canal is drawn with an open apex or a sinus behind it:
these two are for whoever writes a state down, and nothing harmful may pass there either."""

BLEEDINGS: tuple[Bleeding, ...] = ("none", "oozing", "brisk")
SETTLING = ("over_length", "tissue_remnant")
"""Causes that go away; the others keep a canal wet until they are treated as what they are."""

BLEEDING_CAUSES: dict[Cause, float] = {
    "over_length": p.BEHIND_OVER_LENGTH.value,
    "tissue_remnant": p.BEHIND_REMNANT.value,
    "perforation": p.BEHIND_PERFORATION.value,
    "resorption": p.BEHIND_RESORPTION.value,
}
"""How often each is behind a bleeding."""


@dataclass(frozen=True)
class CanalState:
    """One canal at one moment; what nobody sees comes first.

    Attributes
    ----------
    canal : its anatomy.
    tissue_past_mm, k_mm_per_sqrt_s, entrance_limited, fold_chance : how it meets paper.
    cause : why it is wet, and whether that settles.
    remnant_mm : height (mm) of living tissue left above the foramen.
    block_mm : height (mm) of a plug of debris above the foramen, `NOWHERE_MM` without one.
    lateral_mm : height (mm) of an opening in the side, None without one.
    pool_ul, seep_ul_per_s : liquid standing in the canal; clear liquid that keeps coming.
    bleeding, wall_moisture (0 to 1), irrigant : what else is in there.
    liquid_in_canal : what a clinician would write down, from what was seen last.
    suspected : what the clinic has reason to suspect.
    dry_mm : lengths at which freely running points came out dry this visit, and which no later
        finding has called into question.
    visit, rounds : the visit, and how often this visit the canal was dried.
    """

    canal: Canal
    tissue_past_mm: float
    k_mm_per_sqrt_s: float
    entrance_limited: bool
    fold_chance: float
    cause: Cause = "none"
    remnant_mm: float = 0.0
    block_mm: float = NOWHERE_MM
    lateral_mm: float | None = None
    pool_ul: float = 0.0
    seep_ul_per_s: float = 0.0
    bleeding: Bleeding = "none"
    wall_moisture: float = 0.0
    irrigant: Literal["none", "saline", "hypochlorite"] = "none"
    liquid_in_canal: Liquid = "dry"
    suspected: frozenset[Suspicion] = frozenset()
    dry_mm: tuple[float, ...] = ()
    visit: int = 1
    rounds: int = 0

    @property
    def longest_dry_mm(self) -> float | None:
        """The longest length (mm) that is known to be dry, and so inside; None without one."""
        return max(self.dry_mm, default=None)


def draw_state(canal: Canal, rng: np.random.Generator) -> CanalState:
    """A canal right after preparation: rinsed with hypochlorite, not dried, perhaps bleeding.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> rng = np.random.default_rng(1)
    >>> state = draw_state(draw_canals("13", 1, rng).one(0), rng)
    >>> state.liquid_in_canal, state.pool_ul > 1
    ('irrigant', True)
    """
    wet = draw_wetness(as_canals(canal), rng)
    cause: Cause = "none"
    bleeding: Bleeding = "none"
    if rng.random() < p.SHARE_BLEEDING.value:
        names = list(BLEEDING_CAUSES)
        cause = names[rng.choice(len(names), p=list(BLEEDING_CAUSES.values()))]
        bleeding = "brisk" if rng.random() < p.SHARE_BRISK.value else "oozing"
    elif rng.random() < p.SHARE_SEEPING.value:
        cause = "seeping"
    blocked = rng.random() < p.SHARE_BLOCKED.value
    plug_mm = p.BLOCK_LOWEST_MM.value, p.BLOCK_HIGHEST_MM.value
    block_mm = rng.uniform(*plug_mm) if blocked else NOWHERE_MM
    height_mm = rng.uniform(p.REMNANT_LOWEST_MM.value, p.REMNANT_HIGHEST_MM.value)
    return CanalState(
        canal=canal,
        tissue_past_mm=float(wet.tissue_past_mm[0]),
        k_mm_per_sqrt_s=float(wet.k_mm_per_sqrt_s[0]),
        entrance_limited=bool(wet.entrance_limited[0]),
        fold_chance=float(wet.fold_chance[0]),
        cause=cause,
        remnant_mm=height_mm if cause == "tissue_remnant" else 0.0,
        block_mm=block_mm,
        lateral_mm=p.LATERAL_ABOVE_MM.value + height_mm if cause == "perforation" else None,
        pool_ul=float(wet.space.below_ul[0, -1]),
        seep_ul_per_s=p.OOZE_UL_PER_S.value if cause == "seeping" else 0.0,
        bleeding=bleeding,
        wall_moisture=1.0,
        irrigant="hypochlorite",
        liquid_in_canal="irrigant",
    )


def as_canals(canal: Canal) -> Canals:
    """One canal as arrays of length one."""
    values: dict[str, Any] = {f.name: getattr(canal, f.name) for f in fields(canal)}
    arrays: dict[str, Any] = {
        name: value if isinstance(value, str) else np.array([value])
        for name, value in values.items()
    }
    return Canals(**arrays)


def is_bloody(state: CanalState) -> bool:
    """Whether what comes out of the canal is red: it bleeds, or living tissue is left in it."""
    return state.bleeding != "none" or state.remnant_mm > 0


def wetness_of(state: CanalState) -> Wetness:
    """What decides about a point in this canal now, as arrays of length one.

    What stands free is blood where it bleeds. Living tissue that has bled out colours a point that
    meets it (`is_bloody`), and what stands above it stays clear: see `BLOOD_FROM_A_REMNANT`.
    """
    clear = "water" if state.irrigant != "none" else "serum"
    free = free_k_mm_per_sqrt_s("blood" if state.bleeding != "none" else clear)
    own = {
        "foramen_mm": state.canal.foramen_mm,
        "tissue_past_mm": min(state.tissue_past_mm, -state.remnant_mm),
        "k_mm_per_sqrt_s": state.k_mm_per_sqrt_s,
        "fold_chance": state.fold_chance,
        "free_k_mm_per_sqrt_s": free,
        "block_mm": state.block_mm,
        "pool_ul": state.pool_ul,
        "seep_ul_per_s": state.seep_ul_per_s + bleeding_ul_per_s(state.bleeding),
    }
    arrays: dict[str, Any] = {name: np.array([float(value)]) for name, value in own.items()}
    limited = np.array([state.entrance_limited])
    return Wetness(space=_space_in(state.canal), entrance_limited=limited, **arrays)


@lru_cache(maxsize=64)
def _space_in(canal: Canal) -> Space:
    """The room in a canal, the same for all its states."""
    return read_only(space_of(as_canals(canal)))


def bleeding_ul_per_s(bleeding: Bleeding) -> float:
    """How fast blood comes (µl/s)."""
    return {"none": 0.0, "oozing": p.OOZE_UL_PER_S.value, "brisk": p.BRISK_UL_PER_S.value}[bleeding]


def calmer(bleeding: Bleeding) -> Bleeding:
    """One step less.

    >>> calmer("brisk"), calmer("none")
    ('oozing', 'none')
    """
    return BLEEDINGS[max(BLEEDINGS.index(bleeding) - 1, 0)]
