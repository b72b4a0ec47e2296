"""Hypochlorite into blood, and hypochlorite where an opening is found: told, and not charged."""

from dataclasses import replace

import numpy as np
import pytest
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_space import NOWHERE_MM
from lengthwise.bench.canal_state import draw_state
from lengthwise.bench.point_actions import AngledRadiograph, CallSupervisor, Rinse, TryPoint
from lengthwise.bench.points import replay
from lengthwise.marking.into_blood import INTO_BLOOD
from lengthwise.marking.practice_chair import Act
from lengthwise.marking.practice_ways import begin

BEFORE = {
    "it bleeds": ("bleeds", ["saline"], True),
    "a radiograph looked for the cause": ("bleeds", ["cause"], False),
    "the supervisor looked": ("bleeds", ["supervisor"], False),
    "nothing bleeds": ("plain", ["saline"], False),
}


@pytest.mark.parametrize("name", BEFORE)
def test_practice_cautions_hypochlorite_into_blood_whose_cause_nobody_looked_for(name):
    kind, words, cautioned = BEFORE[name]
    last = begin(kind, 1, [Act(word, 20.0) for word in (*words, "hypochlorite")]).done[-1]
    assert (INTO_BLOOD in last.caution) == cautioned
    assert (last.refused, last.unsafe, last.too_far, last.inside_mm) == (False, False, False, 0.0)


@pytest.fixture
def perforated():
    state = draw_state(
        draw_canals("13", 1, np.random.default_rng(7)).one(0), np.random.default_rng(7)
    )
    return replace(state, cause="perforation", bleeding="oozing", block_mm=NOWHERE_MM)


@pytest.mark.parametrize("look", [CallSupervisor(), AngledRadiograph()])
def test_whoever_finds_an_opening_says_to_rinse_hypochlorite_out(perforated, look):
    rng = np.random.default_rng(1)
    _, log = replay(perforated, [Rinse("hypochlorite"), look, Rinse("saline"), look], rng)
    assert "rinse it out with saline" in log[1].sentence
    assert not log[2].refused
    assert "rinse it out" not in log[3].sentence


def test_so_does_the_point_that_shows_an_opening_and_the_next_hypochlorite_that_is_refused(
    perforated,
):
    open_beside = replace(perforated, lateral_mm=6.0, pool_ul=0.0, wall_moisture=0.0)
    point = TryPoint(open_beside.canal.foramen_mm - 5.0)
    rng = np.random.default_rng(1)
    _, log = replay(open_beside, [point, Rinse("hypochlorite")], rng)
    assert "on its side" in log[0].sentence
    assert log[1].refused
    assert all("rinse it out with saline" in one.sentence for one in log)
