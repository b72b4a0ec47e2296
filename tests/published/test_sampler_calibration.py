"""Evidence drawn from the model itself: the posterior is right as often as it says.

If the truth and the evidence come from the model, the posterior's probability of everything
coronal of the truth (its rank) is uniform between 0 and 1, and an interval of 50 % holds the truth
in half of the cases (Cook, Gelman & Rubin 2006, J Comput Graph Stat 15:675; status: from memory,
and a theorem of probability, not a figure). Ranks are interpolated inside a cell of the grid.
"""

import numpy as np
import pytest
from lengthwise import reconcile_many
from lengthwise.evidence import Context
from lengthwise.reconciliation.plan import Plan, Step
from lengthwise.reconciliation.sampler import draw_case
from scipy import stats

CASES = 2_000
BINS = 20
LEVELS = (0.50, 0.80, 0.95)
CHANCE = 1e-3
"""How often a check calls a right posterior wrong. The seed is fixed: it does so now or never."""

PLANS = (
    Plan(
        "13",
        "single",
        (
            Step("preoperative_film", technique="paralleling"),
            Step("working_film", technique="paralleling"),
            Step("electronic_reading", repeats=2),
            Step("tactile_stop"),
            Step("point_trial", repeats=2, run_recorded=True),
        ),
        Context(crown="intact"),
    ),
    Plan("21", "single", (Step("working_film", technique="bisecting"), Step("electronic_reading"))),
    Plan("34", "single", (Step("preoperative_film"), Step("point_trial", repeats=1))),
    Plan(
        "46",
        "MB",
        (
            Step("working_film", technique="paralleling", stage="before_flare"),
            Step("electronic_reading", repeats=3, stage="after_flare"),
            Step("tactile_stop", repeats=2, stage="after_flare"),
            Step("point_trial", repeats=3, contact_s=3.0, stage="after_shaping"),
        ),
        Context(crown="worn"),
    ),
    Plan(
        "33",
        "single",
        (
            Step("preoperative_film", technique="bisecting"),
            Step("electronic_reading", liquid_in_canal="blood"),
            Step("point_trial", repeats=4, contact_s=5.0, liquid_in_canal="moist"),
        ),
        Context(crown="prepared"),
    ),
    Plan(
        "16",
        "P",
        (
            Step("preoperative_film", technique="paralleling", visit=1),
            Step("electronic_reading", repeats=2, visit=1),
            Step("electronic_reading", repeats=2, visit=2),
            Step("point_trial", repeats=2, visit=2, run_recorded=True),
        ),
    ),
    Plan("25", "B", (Step("preoperative_film", technique="paralleling"), Step("tactile_stop"))),
    Plan(
        "42",
        "single",
        (
            Step("working_film", repeats=2, technique="paralleling"),
            Step("point_trial", repeats=2, liquid_in_canal="flooded"),
        ),
        Context(crown="intact"),
    ),
)


@pytest.fixture(scope="module")
def judged():
    """Each plan's results with the truth that belongs to each."""
    rng = np.random.default_rng(20)
    each = CASES // len(PLANS)
    drawn = [[draw_case(plan, rng) for _ in range(each)] for plan in PLANS]
    results = reconcile_many([evidence for cases in drawn for evidence, _ in cases])
    truths = [truth.foramen_mm for cases in drawn for _, truth in cases]
    return list(zip(results, truths, strict=True))


def ranks_of(judged):
    return np.array([result.probability_past(truth) for result, truth in judged])


def complaints(ranks, chance=CHANCE):
    """What speaks against these ranks being those of an honest posterior; empty if nothing."""
    found = []
    counts = np.histogram(ranks, bins=BINS, range=(0, 1))[0]
    flat = stats.chisquare(counts).pvalue
    if flat < chance:
        found.append(f"ranks are not flat (p = {flat:.1e}): {counts.tolist()}")
    for level in LEVELS:
        inside = int((np.abs(ranks - 0.5) <= level / 2).sum())
        if stats.binomtest(inside, len(ranks), level).pvalue < chance:
            found.append(f"{level:.0%} intervals hold {inside / len(ranks):.1%} of the truths")
    return found


@pytest.mark.slow
def test_ranks_are_flat_and_intervals_hold_what_they_say(judged):
    assert len(judged) == CASES
    assert complaints(ranks_of(judged)) == []


@pytest.mark.slow
@pytest.mark.parametrize("number", range(len(PLANS)))
def test_each_kind_of_case_is_calibrated_by_itself(judged, number):
    # So many looks at once: each gets its share of the chance to be wrong (Bonferroni).
    each = CASES // len(PLANS)
    ranks = ranks_of(judged[number * each : (number + 1) * each])
    assert complaints(ranks, CHANCE / len(PLANS)) == []


@pytest.mark.slow
def test_the_interval_that_is_shown_is_the_one_that_was_checked(judged):
    for result, truth in judged[:200]:
        rank = result.probability_past(truth)
        for level in LEVELS:
            low, high = result.interval_mm(level)
            assert (low <= truth <= high) == (abs(rank - 0.5) <= level / 2)


def distorted_ranks(judged, distort):
    return np.array(
        [
            result.probability_past(distort(truth, result.foramen_mm, result.foramen_sd_mm))
            for result, truth in judged
        ]
    )


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "distort"),
    [
        ("over-confident", lambda truth, mean, sd: mean + (truth - mean) / 0.85),
        ("under-confident", lambda truth, mean, sd: mean + (truth - mean) * 0.85),
        ("too long by a fifth of its SD", lambda truth, mean, sd: truth - 0.2 * sd),
    ],
)
def test_the_same_check_fails_on_a_posterior_that_is(judged, name, distort):
    """Moving the truth against the posterior is moving or shrinking the posterior itself."""
    assert complaints(distorted_ranks(judged, distort)) != []
