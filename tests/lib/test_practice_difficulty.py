"""The level of a student in practice: the published law, and that it finds simulated students."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.marking.practice_cases import KINDS
from lengthwise.marking.practice_difficulty import (
    NOT_AGAIN,
    Rating,
    after,
    choose_kind,
    difficulties,
    expected_share,
    rated,
)

LOGIT = np.log(10) / 400  # a point of chess in logits: the same law on another scale
WITHIN_LOGIT = 0.3


def chess(points: float, sd: float) -> Rating:
    return Rating(points * LOGIT, sd * LOGIT)


def test_the_worked_example_of_the_glicko_law() -> None:
    # Glickman, "The Glicko system", the example after step 2: a player of 1500 with a deviation
    # of 200 beats 1400 (30), loses to 1550 (100) and to 1700 (300); afterwards 1464 and 151.4.
    met = [(chess(1400, 30), 1.0), (chess(1550, 100), 0.0), (chess(1700, 300), 0.0)]
    now = rated(chess(1500, 200), met)
    expected = [expected_share(chess(1500, 200), one) for one, _ in met]
    assert expected == pytest.approx([0.639, 0.432, 0.303], abs=5e-4)
    assert now.logit / LOGIT == pytest.approx(1464, abs=0.5)
    assert now.sd_logit / LOGIT == pytest.approx(151.4, abs=0.05)


@given(st.floats(-3, 3), st.floats(0.05, 1.5), st.floats(-2, 2), st.floats(0, 1))
def test_a_level_moves_towards_what_was_earned_and_grows_surer(
    level: float, sd: float, difficulty: float, share: float
) -> None:
    before, kind = Rating(level, sd), Rating(difficulty, 0.1)
    now = rated(before, [(kind, share)])
    assert now.sd_logit <= before.sd_logit
    assert (now.logit - before.logit) * (share - expected_share(before, kind)) >= 0


def test_every_kind_of_case_has_a_difficulty() -> None:
    assert set(difficulties()) == set(KINDS)


@given(st.floats(-4, 4), st.lists(st.sampled_from(sorted(KINDS)), max_size=4), st.integers(0, 99))
def test_a_kind_is_not_met_again_at_once(level: float, lately: list[str], seed: int) -> None:
    kind = choose_kind(Rating(level, 0.3), lately, np.random.default_rng(seed))
    assert kind in KINDS
    assert kind not in lately[-NOT_AGAIN:]


def practised(ability: float, cases: int, rng: np.random.Generator) -> tuple[Rating, list[str]]:
    """A student who answers by the Rasch model: all or nothing, the noisiest there is."""
    level, met = Rating(), list[str]()
    for _ in range(cases):
        kind = choose_kind(level, met, rng)
        share = rng.random() < expected_share(Rating(ability, 0.0), difficulties()[kind])
        level = after(level, kind, float(share))
        met.append(kind)
    return level, met


def found(cases: int, students: int = 80) -> float:
    """The share of simulated students whose level is found to within 0.3 logit."""
    rng = np.random.default_rng(16)
    abilities = rng.uniform(-1.5, 1.5, students)
    off = [practised(ability, cases, rng)[0].logit - ability for ability in abilities]
    return float(np.mean(np.abs(off) <= WITHIN_LOGIT))


def test_after_many_cases_the_level_is_within_three_tenths_of_the_ability_of_nine_in_ten() -> None:
    assert found(cases=300) >= 0.9


def test_after_a_few_cases_it_cannot_be() -> None:
    assert found(cases=10, students=40) < 0.6


def near(low: float, high: float, students: int) -> float:
    """The share of students whose last 50 cases are in the mean within 0.3 logit of them."""
    rng = np.random.default_rng(17)
    off = []
    for ability in rng.uniform(low, high, students):
        _, met = practised(ability, 150, rng)
        off.append(np.mean([difficulties()[kind].logit for kind in met[-50:]]) - ability)
    return float(np.mean(np.abs(off) <= WITHIN_LOGIT))


def test_cases_are_as_difficult_as_the_student_is_able_where_kinds_are_many() -> None:
    assert near(-0.5, 0.15, students=40) >= 0.9


def test_where_kinds_are_few_cases_are_a_little_too_hard_for_some() -> None:
    # A miss that is known: only three kinds are easier than -0.5, none is harder than 0.2. From the
    # easiest kind to the hardest 0.81 of 100 students met cases that were near.
    both = [each.logit for each in difficulties().values()]
    assert 0.7 <= near(min(both), max(both), students=40) < 1.0
