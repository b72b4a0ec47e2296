"""The level of a student in practice: the published law, and that it finds simulated students."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.marking.practice_difficulty import (
    NOT_AGAIN,
    Rating,
    after,
    choose_kind,
    difficulties,
    expected_share,
    rated,
    served,
)
from lengthwise.marking.practice_kinds import KINDS

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


def followed(cases: int, students: int = 80) -> tuple[float, float]:
    """Of learners from all levels that are served, the shares whose level, and whose last 50
    cases in the mean, come to within 0.3 logit of their ability."""
    rng = np.random.default_rng(16)
    level_off, cases_off = [], []
    for ability in rng.uniform(*served(), students):
        level, met = practised(ability, cases, rng)
        level_off.append(level.logit - ability)
        met_logit = [difficulties()[kind].logit for kind in met[-50:]]
        cases_off.append(float(np.mean(met_logit)) - ability)
    near = [np.mean(np.abs(off) <= WITHIN_LOGIT) for off in (level_off, cases_off)]
    return float(near[0]), float(near[1])


def test_level_and_cases_come_to_within_three_tenths_of_the_ability_of_nine_learners_in_ten() -> (
    None
):
    level, cases = followed(cases=250)
    assert level >= 0.9
    assert cases >= 0.9


def test_the_page_says_for_which_levels_there_are_cases() -> None:
    page = (Path(__file__).resolve().parents[2] / "course/practice/practice.ipynb").read_text(
        "utf-8"
    )
    low, high = served()
    assert f"from {low:.1f} to +{high:.1f}.".replace("-", "−") in page


def test_after_a_few_cases_they_cannot() -> None:
    assert followed(cases=10, students=40)[0] < 0.6


def test_who_is_beyond_all_kinds_gets_the_nearest_and_is_told_so() -> None:
    low, high = served()
    rng = np.random.default_rng(1)
    hardest = [choose_kind(Rating(high + 3, 0.3), [], rng) for _ in range(20)]
    assert np.mean([difficulties()[kind].logit for kind in hardest]) > high - 0.5
    assert high - low > 2.4
