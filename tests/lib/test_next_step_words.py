"""The next step in words: what stands beside each other adds up, and is told apart."""

import re

import pytest
from lengthwise.reconciliation.next_actions import ACTIONS, Weighed
from lengthwise.reconciliation.next_step import choose_next_step
from lengthwise.reconciliation.next_worth import Worth
from lengthwise.reconciliation.result_view import not_yet

WIDE = (23.0, 26.0)


def advised(action, more):
    """What is said where one action is worth so much more than it costs."""
    weighed = Weighed(action, Worth(action.cost.value + more, 9.0), spoken=False)
    return choose_next_step((), WIDE, lambda: [weighed]).sentence


@pytest.mark.parametrize("interval_mm", [(22.34, 24.96), (22.26, 25.04), (20.25, 23.35)])
def test_a_stretch_adds_up_beside_the_ends_that_are_told(interval_mm):
    told = not_yet(interval_mm, choose_next_step((), interval_mm, tuple).sentence)
    low, high, stretch = (float(found) for found in re.findall(r"(\d+\.\d) (?:and|mm)", told))
    assert high - low == pytest.approx(stretch, abs=0.001)


@pytest.mark.parametrize("more", [0.3, 0.004, 0.0003])
@pytest.mark.parametrize("action", ACTIONS, ids=lambda action: action.word)
def test_a_gain_and_its_cost_are_told_apart(action, more):
    told = re.findall(r"\((\d\.\d+)", advised(action, more))
    gain, cost = (float(found) for found in told)
    assert len(told[0]) == len(told[1])
    assert gain > cost
    assert gain - cost == pytest.approx(more, abs=0.011)


def test_what_four_decimals_do_not_tell_apart_is_told_in_words():
    assert "spare a little more than it costs (0.1000, " in advised(ACTIONS[0], 1e-9)
