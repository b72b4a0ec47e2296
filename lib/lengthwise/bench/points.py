"""Measuring a canal with absorbent points: one action after the other.

`step` is a pure function: a state and an action give a new state and an outcome. What an outcome
says is what a clinician would see, never the truth.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Literal

import numpy as np

from lengthwise.evidence import PointTrial
from lengthwise.evidence.records import MOST_OBLIQUE_EDGE_MM, MarkSite
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

from . import canal_care as care
from . import point_actions as do
from .canal_state import CanalState, is_bloody, wetness_of
from .point_actions import Outcome
from .point_touch import Touch, fill, try_points

Generator = np.random.Generator


def step(state: CanalState, action: do.Action, rng: Generator) -> tuple[CanalState, Outcome]:
    """Do one thing.

    Parameters
    ----------
    state : CanalState
        The canal before.
    action : Action
        One of `lengthwise.bench.point_actions`.
    rng : numpy.random.Generator
        Where the chance comes from; the same generator gives the same outcome.

    Returns
    -------
    (CanalState, Outcome)
        The canal afterwards, and what was seen. A refused action leaves the canal as it was.

    Raises
    ------
    ValueError
        What was asked for cannot be; the state is as it was.

    Examples
    --------
    >>> from lengthwise.anatomy.canals import draw_canals
    >>> from lengthwise.bench.canal_state import draw_state
    >>> rng = np.random.default_rng(2)
    >>> state = draw_state(draw_canals("13", 1, rng).one(0), rng)
    >>> state, outcome = step(state, do.PeroxideSyringe(), rng)
    >>> outcome.refused, outcome.safety_failure
    (True, True)
    """
    do.check_action(action)
    return _DO[type(action)](state, action, rng)


def replay(
    state: CanalState, actions: Iterable[do.Action], rng: Generator
) -> tuple[CanalState, tuple[Outcome, ...]]:
    """Do one thing after the other; with a generator seeded alike, a log comes out again."""
    log = []
    for action in actions:
        state, outcome = step(state, action, rng)
        log.append(outcome)
    return state, tuple(log)


def _try_point(
    state: CanalState, action: do.TryPoint, rng: Generator
) -> tuple[CanalState, Outcome]:
    wet = fill(wetness_of(state), p.BETWEEN_POINTS_S.value)
    wet, touch = try_points(
        wet, action.length_mm, contact_s=action.contact_s, size_mm=action.size / 100,
        taper=action.taper, placement_sd_mm=c.PLACEMENT_SD_MM.value, rng=rng,
    )  # fmt: skip
    site, mark = _mark(state, action, touch, rng)
    freely = not bool(touch.felt[0])
    edge = _oblique_edge_mm(state, action, rng) if site in ("tip_straight", "tip_oblique") else None
    if edge is not None:
        site = "tip_oblique"
    trial = PointTrial(
        length_mm=float(action.length_mm), contact_s=float(action.contact_s), wet_mm=float(mark),
        mark_site=site, oblique_edge_mm=edge, size=int(action.size), taper=float(action.taper),
        ran_freely=freely,
        liquid=None if site == "none" else "blood" if is_bloody(state) else _clear(state),
        liquid_in_canal=state.liquid_in_canal, visit=state.visit, stage="after_shaping",
    )  # fmt: skip
    state = replace(state, pool_ul=float(wet.pool_ul[0]))
    if site == "none" and freely:
        state = replace(state, dry_mm=(*state.dry_mm, action.length_mm))
    if site in ("tip_straight", "tip_oblique"):
        # What is wet here is not known to be dry further on: a point was dry there by a plug or a
        # fold, or the canal was drier then.
        shorter = tuple(dry for dry in state.dry_mm if dry < action.length_mm)
        state = replace(state, dry_mm=shorter)
    if site == "side":
        state = replace(state, suspected=state.suspected | {"perforation"})
    if trial.liquid == "blood":
        state = replace(state, liquid_in_canal="blood")
    rinse_out = care.rinse_out(state) if site == "side" else ""
    return state, Outcome(action, f"{_describe(trial)}{rinse_out}", trial)


def _clear(state: CanalState) -> Literal["clear", "turbid"]:
    return "turbid" if state.irrigant == "hypochlorite" else "clear"


def _mark(
    state: CanalState, action: do.TryPoint, touch: Touch, rng: Generator
) -> tuple[MarkSite, float]:
    """Where the point is wet, and over how much of its length (mm)."""
    mark, tip = float(touch.mark_mm[0]), float(touch.tip_past_mm[0])
    if state.wall_moisture > care.WET_WALL and rng.random() < state.wall_moisture:
        return "whole", action.length_mm
    if state.lateral_mm is not None and tip > -state.lateral_mm and mark <= 0:
        reaches = p.SIDE_MARK_MM.value + tip + state.lateral_mm
        return "side", min(reaches, action.length_mm)
    return ("tip_straight", min(mark, action.length_mm)) if mark > 0 else ("none", 0.0)


def _oblique_edge_mm(state: CanalState, action: do.TryPoint, rng: Generator) -> float | None:
    """How much further the mark reaches on one side (mm): the slope of the foramen on the paper.

    None where it cannot be told from a straight edge.
    """
    slope = np.tan(np.radians(state.canal.foramen_angle_deg))
    reading_sd_mm = p.EDGE_READING_SHARE.value * c.MARK_READING_SD_MM.value
    seen = action.size / 100 * slope + rng.normal(0, reading_sd_mm)
    told = seen > p.EDGE_TOLD_SD.value * c.MARK_READING_SD_MM.value
    return float(min(seen, MOST_OBLIQUE_EDGE_MM)) if told else None


def _describe(trial: PointTrial) -> str:
    ran = "ran freely" if trial.ran_freely else "did not run freely"
    liquid = "blood" if trial.liquid == "blood" else f"{trial.liquid} fluid"
    where = {
        "none": "came out dry",
        "side": f"came out with {liquid} on its side and a dry tip",
        "whole": "came out wet all along",
    }
    mark = f"came out with its last {trial.wet_mm:.1f} mm wet ({liquid})"
    return (
        f"A point of size {trial.size} set to {trial.length_mm:g} mm, {trial.contact_s:g} s: it "
        f"{ran} and {where.get(trial.mark_site or '', mark)}."
    )


_DO: dict[type, Callable[..., tuple[CanalState, Outcome]]] = {
    do.TryPoint: _try_point,
    do.Dry: care.dry,
    do.Rinse: care.rinse,
    do.Wait: care.wait,
    do.CheckPatency: care.check_patency,
    do.PeroxidePoint: care.peroxide_point,
    do.PeroxideSyringe: care.peroxide_syringe,
    do.DressAndRebook: care.dress,
    do.CallSupervisor: care.call_supervisor,
    do.AngledRadiograph: care.angled_radiograph,
}
