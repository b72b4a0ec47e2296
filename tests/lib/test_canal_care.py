"""What is done to a canal besides measuring it: colour, number, and what settles with a rinse."""

from dataclasses import replace

import numpy as np
import pytest
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_state import draw_state
from lengthwise.bench.point_actions import Dry, Rinse, TryPoint
from lengthwise.bench.points import step
from lengthwise.reference import points as p

RINSES = 800


@pytest.fixture
def rng():
    return np.random.default_rng(7)


def living(rng, bleeding):
    """A canal with living tissue left, dry but for what comes from it."""
    state = draw_state(draw_canals("13", 1, rng).one(0), rng)
    return replace(
        state, cause="tissue_remnant", remnant_mm=1.5, bleeding=bleeding, block_mm=0.0,
        lateral_mm=None, pool_ul=0.0, wall_moisture=0.0, liquid_in_canal="dry",
    )  # fmt: skip


def test_what_settles_with_a_rinse_has_settled_where_it_dissolves_the_remnant_too(rng):
    state = living(rng, "brisk")
    after = [step(state, Rinse("hypochlorite"), rng)[0] for _ in range(RINSES)]
    both = np.mean([(one.bleeding, one.remnant_mm) == ("none", 0.0) for one in after])
    expected = p.REMNANT_DISSOLVES.value * p.SETTLES_BY_WAITING.value * p.BY_A_RINSE.value
    assert both == pytest.approx(expected, abs=4 * np.sqrt(expected * (1 - expected) / RINSES))


def test_living_tissue_that_bled_out_is_red_on_a_drying_point_and_on_one_that_is_tried(rng):
    state = living(rng, "none")
    inside = state.canal.foramen_mm - 0.5
    dried, outcome = step(state, Dry(inside, points=2), rng)
    assert outcome.sentence == "2 points; the last one came out bloody."
    assert dried.liquid_in_canal == "blood"
    assert step(state, TryPoint(inside), rng)[1].trial.liquid == "blood"


def test_one_point_is_told_as_one(rng):
    state = replace(living(rng, "none"), remnant_mm=0.0, cause="none")
    _, outcome = step(state, Dry(state.canal.foramen_mm - 2.0, points=1), rng)
    assert outcome.sentence == "1 point; it came out dry."
