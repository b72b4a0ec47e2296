"""Everything that is done to a canal besides measuring it: dry, rinse, wait, look, ask, stop.

Each takes a state and gives a new one, with what a clinician would see.
"""

from dataclasses import replace

import numpy as np

from lengthwise.counted import counted
from lengthwise.evidence.records import Liquid
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

from .canal_space import NOWHERE_MM
from .canal_state import SETTLING, CanalState, Suspicion, calmer, is_bloody, wetness_of
from .point_actions import (
    Action,
    AngledRadiograph,
    CallSupervisor,
    CheckPatency,
    DressAndRebook,
    Dry,
    Outcome,
    PeroxidePoint,
    PeroxideSyringe,
    Rinse,
    Wait,
)
from .point_touch import Wetness, fill, pool_of, try_points

Generator = np.random.Generator

WET_WALL = p.WET_WALL.value
"""Above this share of moisture a point picks up liquid along the wall before its tip arrives."""


def dry(state: CanalState, action: Dry, rng: Generator) -> tuple[CanalState, Outcome]:
    """Aspirate, dry with fresh points, and look at the last one."""
    wet, last = wetness_of(state), 0.0
    lowest = pool_of(wet, np.array([p.ASPIRATED_TO_MM.value])).pool_ul
    wet = replace(wet, pool_ul=np.minimum(wet.pool_ul, lowest))
    for _ in range(action.points):
        wet = fill(wet, p.BETWEEN_POINTS_S.value * p.NEXT_POINT_SHARE.value)
        wet, touch = try_points(
            wet, action.length_mm, contact_s=p.DRYING_CONTACT_S.value, size_mm=action.size / 100,
            taper=p.DRYING_TAPER.value, placement_sd_mm=c.PLACEMENT_SD_MM.value, rng=rng,
        )  # fmt: skip
        last = float(touch.mark_mm[0])
    walls = state.wall_moisture * p.WALL_KEPT_BY_A_POINT.value**action.points
    seen: Liquid = "dry" if last <= 0 and walls <= WET_WALL else "moist"
    if last > 0 and is_bloody(state):
        seen = "blood"
    state = replace(
        _after(state, wet), wall_moisture=walls, rounds=state.rounds + 1,
        liquid_in_canal=seen, irrigant="none" if seen == "dry" else state.irrigant,
    )  # fmt: skip
    came = "bloody" if seen == "blood" else seen
    looked_at = "it" if action.points == 1 else "the last one"
    return state, Outcome(
        action, f"{counted(action.points, 'point')}; {looked_at} came out {came}.",
        bleeding="oozing" if seen == "blood" else "none",
    )  # fmt: skip


def rinse(state: CanalState, action: Rinse, rng: Generator) -> tuple[CanalState, Outcome]:
    """Fill the canal; hypochlorite may dissolve a remnant, where no opening is suspected.

    Where one is suspected it is refused as peroxide is, but to want it is no safety failure: it is
    the usual rinse until then, which peroxide never is. That is told, and not charged as a danger.
    """
    if state.suspected and action.liquid == "hypochlorite":
        return state, Outcome(action, _could_reach_the_tissues(state, "hypochlorite"), refused=True)
    dissolved = action.liquid == "hypochlorite" and rng.random() < p.REMNANT_DISSOLVES.value
    settled = _settled(state, p.SETTLES_BY_WAITING.value * p.BY_A_RINSE.value, rng)
    if state.cause == "tissue_remnant" and dissolved:
        settled = replace(settled, remnant_mm=0.0, bleeding=calmer(settled.bleeding))
    full = wetness_of(settled).space.below_ul[0, -1]
    state = replace(
        settled, pool_ul=float(full), wall_moisture=1.0, irrigant=action.liquid,
        liquid_in_canal="irrigant",
    )  # fmt: skip
    return _coloured(state, action, f"Rinsed with {action.liquid}; the canal is full.")


def wait(state: CanalState, action: Wait, rng: Generator) -> tuple[CanalState, Outcome]:
    """Let time pass: bleeding may settle, what seeps rises."""
    share = min(action.seconds / p.WAITED_S.value, p.MOST_BY_WAITING.value)
    settled = _settled(state, p.SETTLES_BY_WAITING.value * share, rng)
    state = _after(settled, fill(wetness_of(settled), action.seconds))
    return _coloured(state, action, f"Waited {action.seconds:g} s.")


def check_patency(
    state: CanalState, action: CheckPatency, rng: Generator
) -> tuple[CanalState, Outcome]:
    """See whether a small file runs through; after a rinse it may pass soft debris."""
    if state.block_mm <= NOWHERE_MM:
        return state, Outcome(action, "A small file runs through to the end.", obstruction="none")
    # Points that came out dry so far may have ended on the plug: none of their lengths is known.
    state = replace(state, dry_mm=())
    if state.liquid_in_canal == "irrigant" and rng.random() < p.BLOCK_CLEARS.value:
        open_again = replace(state, block_mm=NOWHERE_MM)
        return open_again, Outcome(
            action, "A small file met soft debris and went through it.", obstruction="none"
        )
    return state, Outcome(
        action, "A small file stops; the canal is blocked. Points tell no length here: rinse, and "
        "pass it gently, or ask.", obstruction="block",
    )  # fmt: skip


def peroxide_point(
    state: CanalState, action: PeroxidePoint, rng: Generator
) -> tuple[CanalState, Outcome]:
    """A dampened point, unless something speaks against it."""
    if state.suspected:
        return state, Outcome(
            action, _could_reach_the_tissues(state, "peroxide"), refused=True, safety_failure=True
        )
    if state.irrigant == "hypochlorite":
        return state, Outcome(
            action, "Refused: hypochlorite is still in the canal; rinse it out with saline first.",
            refused=True,
        )  # fmt: skip
    longest = state.longest_dry_mm
    if longest is None or action.length_mm > longest - p.SHORT_OF_DRY_MM.value:
        known = "none is known" if longest is None else f"it is {longest:g} mm"
        return state, Outcome(
            action, f"Refused: stay at least {p.SHORT_OF_DRY_MM.value:g} mm short of the longest "
            f"dry length ({known}).",
            refused=True,
        )  # fmt: skip
    calm = _settled(state, p.SETTLES_BY_PEROXIDE.value, rng)
    moist = replace(calm, liquid_in_canal="moist")
    return _coloured(moist, action, "A dampened point, changed and repeated.")


def peroxide_syringe(
    state: CanalState, action: PeroxideSyringe, rng: Generator
) -> tuple[CanalState, Outcome]:
    """Refused, always."""
    return state, Outcome(
        action, "Refused: peroxide from a syringe presses gas into the tissues. Never.",
        refused=True, safety_failure=True,
    )  # fmt: skip


def dress(state: CanalState, action: DressAndRebook, rng: Generator) -> tuple[CanalState, Outcome]:
    """End the visit; what settles has settled by the next one."""
    calm = replace(state, bleeding="none", remnant_mm=0.0) if state.cause in SETTLING else state
    seeped = fill(wetness_of(replace(calm, pool_ul=0.0)), p.VISITS_APART_S.value)
    state = replace(
        _after(calm, seeped), visit=state.visit + 1, rounds=0, wall_moisture=p.DRESSED_WALL.value,
        irrigant="none", liquid_in_canal="moist", dry_mm=(),
    )  # fmt: skip
    return _coloured(
        state, action, "Dressed, sealed and booked again; no length is taken today. Next visit: "
        "measure anew.",
    )  # fmt: skip


def call_supervisor(
    state: CanalState, action: CallSupervisor, rng: Generator
) -> tuple[CanalState, Outcome]:
    """Ask somebody who sees the cause, if there is one to be seen, a canal that is blocked too."""
    who = "Your supervisor has a look"
    if state.block_mm > NOWHERE_MM:
        return state, Outcome(
            action, f"{who}: nothing runs down freely here. Go no longer; check patency first."
        )
    return _look(state, action, who)


def angled_radiograph(
    state: CanalState, action: AngledRadiograph, rng: Generator
) -> tuple[CanalState, Outcome]:
    """Look for the cause from another angle."""
    return _look(state, action, "The radiograph from another angle was read")


def _look(state: CanalState, action: Action, who: str) -> tuple[CanalState, Outcome]:
    causes: dict[str, tuple[Suspicion, str]] = {
        "perforation": ("perforation", "an opening in the side of the root is suspected"),
        "resorption": ("resorption", "the end of the root looks resorbed"),
        "sinus": ("sinus", "the sinus may be open to the canal"),
    }
    if state.cause in causes:
        name, sentence = causes[state.cause]
        state = replace(state, suspected=state.suspected | {name})
        return state, Outcome(action, f"{who}: {sentence}. Stop here; refer.{rinse_out(state)}")
    return state, Outcome(
        action, f"{who}: it shows nothing new. Whether the canal is open and dry, a look does not "
        "tell.",
    )  # fmt: skip


def rinse_out(state: CanalState) -> str:
    """What is to be done first where an opening is suspected with hypochlorite in the canal."""
    if not state.suspected or state.irrigant != "hypochlorite":
        return ""
    return " Hypochlorite is still in the canal: rinse it out with saline, without pressure."


def _could_reach_the_tissues(state: CanalState, liquid: str) -> str:
    names = ", ".join(sorted(name.replace("_", " ") for name in state.suspected))
    return f"Refused: {names} suspected; {liquid} could reach the tissues. Ask.{rinse_out(state)}"


def _after(state: CanalState, wet: Wetness) -> CanalState:
    return replace(state, pool_ul=float(wet.pool_ul[0]))


def _settled(state: CanalState, chance: float, rng: Generator) -> CanalState:
    """Bleeding goes down a step by chance, where its cause is one that settles."""
    calms = rng.random() < chance and state.cause in SETTLING
    return replace(state, bleeding=calmer(state.bleeding)) if calms else state


def _coloured(state: CanalState, action: Action, done: str) -> tuple[CanalState, Outcome]:
    """What was done, and how much blood shows after it."""
    colour = {"none": "", "oozing": " It oozes blood.", "brisk": " It bleeds."}[state.bleeding]
    return state, Outcome(action, f"{done}{colour}", bleeding=state.bleeding)
