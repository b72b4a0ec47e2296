"""Paper points: the published accuracy, what it is made of, and coverage on the bench.

Marcos-Arenal et al. 2009 (Oral Surg 108:e101; seen): 62 of 71 canals (87 %) within 0.5 mm of the
foramen by micro-CT, after preparation, patent, anteriors and premolars curved 10 degrees or less;
repeats in one canal agree within 0.19 mm in 95 %.

What the bench puts in was fixed before looking at 62 of 71, each figure with a reason of its own:

    foramen's diameter      Kuttler 1955, 0.502 to 0.681 mm by age
    foramen's obliquity     half-normal, 25 degrees; a judgement
    meniscus                0.10 mm; a judgement
    placement and reading   0.06 mm together, study conditions
    K, contact time         0.30 mm/√s within 10 %, contact within 25 %, both laws

The spread between canals that nothing here explains (`PAPER_BETWEEN_CANALS_SD_MM`, how far tissue
grew in or drew back) was chosen knowing the 87 %; it is therefore left out (set to zero) where the
87 % is predicted. Marks are corrected for wicking, and a length ends where paper met liquid: at the
coronal rim of the foramen, a meniscus before.

How weak a test this is: 62 of 71 has a 95 % interval of 77 to 93 %. It cannot tell a method with an
SD of 0.33 mm from one that is 0.25 mm short with an SD of 0.2.
"""

from dataclasses import fields, replace

import numpy as np
import pytest
from bench_sittings import draw_states, sit, wet_canals
from coverage_promised import held, is_as_promised, misses
from lengthwise import reconcile_many
from lengthwise.anatomy.canals import Canals, draw_canals
from lengthwise.bench.canal_space import NOWHERE_MM, level_mm
from lengthwise.bench.point_touch import draw_wetness, fill, rim_mm, try_points
from lengthwise.evidence import Context, Evidence, PointTrial
from lengthwise.reconciliation import paper
from lengthwise.reference import constants as c
from lengthwise.reference import points as p
from lengthwise.reference.files import read_rows
from scipy import stats

PUBLISHED = {row["id"]: row for row in read_rows("paper_points")}
INSIDE, CANALS = 62, 71
STUDY = {"contact_s": 1.0, "size_mm": 0.2, "taper": 0.02, "reading_sd_mm": 0.0,
         "placement_sd_mm": p.STUDY_PLACEMENT_SD_MM.value}  # fmt: skip
TEETH = ("11", "12", "13", "14", "33", "34", "41", "44")


@pytest.fixture(scope="module")
def study_canals():
    """Anteriors and premolars curved 10 degrees or less."""
    rng = np.random.default_rng(62)
    drawn = [draw_canals(tooth, 8000, rng) for tooth in TEETH]
    keep = np.concatenate([canals.curvature_deg for canals in drawn]) <= 10
    joined = {
        f.name: getattr(drawn[0], f.name)
        if isinstance(getattr(drawn[0], f.name), str)
        else np.concatenate([getattr(canals, f.name) for canals in drawn])[keep]
        for f in fields(Canals)
    }
    return Canals(**joined)


def past_where_liquid_is(wet, rng):
    """Lengths of the first wet step of a staircase that began anywhere: 0 to 0.5 mm too far."""
    surface_past = np.minimum(wet.tissue_past_mm, -level_mm(wet.space, wet.pool_ul))
    surface_past = np.where(wet.pool_ul > 0, surface_past, wet.tissue_past_mm)
    return wet.foramen_mm + surface_past + rng.uniform(0.0, 0.5, len(wet.foramen_mm))


def corrected_mm(wet, rng, **changes):
    """Corrected marks against the foramen (mm), of the points that came out wet."""
    length = past_where_liquid_is(wet, rng)
    _, touch = try_points(wet, length, rng=rng, **{**STUDY, **changes})
    came_wet = touch.mark_mm > 0
    k = c.PAPER_K_MM_PER_SQRT_S.value
    return (length - touch.mark_mm + k - wet.foramen_mm)[came_wet]


# --- the published accuracy -----------------------------------------------------------------------
def test_how_weak_a_test_sixty_two_of_seventy_one_is():
    interval = stats.binomtest(INSIDE, CANALS).proportion_ci(method="wilson")
    assert interval.low == pytest.approx(float(PUBLISHED["within_half"]["low_share"]), abs=0.01)
    assert interval.high == pytest.approx(float(PUBLISHED["within_half"]["high_share"]), abs=0.01)
    unbiased = stats.norm.cdf(0.5 / 0.33) - stats.norm.cdf(-0.5 / 0.33)
    short = stats.norm.cdf((0.5 + 0.25) / 0.2) - stats.norm.cdf((-0.5 + 0.25) / 0.2)
    for share in (unbiased, short):
        assert interval.low < share < interval.high


def test_dry_canals_alone_are_a_little_too_good_for_what_was_published(study_canals):
    """Not met: 94 % predicted where every canal is perfectly dry, just above the study's interval.

    62 or fewer of 71 would then be met about one time in thirty. Canals hold something more.
    """
    rng = np.random.default_rng(71)
    wet = draw_wetness(study_canals, rng, tissue_sd_mm=0.0)
    share = (np.abs(corrected_mm(wet, rng)) <= 0.5).mean()
    assert share == pytest.approx(0.94, abs=0.01)
    assert 0.02 < stats.binom.cdf(INSIDE, CANALS, share) < 0.07


def test_the_published_accuracy_comes_out_of_figures_fixed_beforehand(study_canals):
    """One canal in ten is not as dry as it seems (`PAPER_TRUST`, judged for another purpose).

    Patent canals, so none is blocked: the rest of the unsound ones drain or ooze. Predicted: 87 to
    91 %.
    """
    rng = np.random.default_rng(72)
    n = len(study_canals)
    visible = np.full(n, "dry")
    state = draw_states(visible, rng)
    state = np.where(state == "bound", "sound", state)
    wet = fill(wet_canals(study_canals, state, visible, rng, tissue_sd_mm=0.0), 60.0)
    share = (np.abs(corrected_mm(wet, rng)) <= 0.5).mean()
    interval = stats.binomtest(INSIDE, CANALS).proportion_ci(method="wilson")
    assert share == pytest.approx(0.89, abs=0.02)
    assert interval.low < share < interval.high
    assert stats.binomtest(INSIDE, CANALS, share).pvalue > 0.2


def test_what_is_left_unexplained_brings_it_to_what_was_found_too(study_canals):
    """Not a confirmation: 0.20 mm between canals was chosen knowing the 87 %. It gives 85 %."""
    rng = np.random.default_rng(72)
    wet = draw_wetness(study_canals, rng)
    share = (np.abs(corrected_mm(wet, rng)) <= 0.5).mean()
    assert share == pytest.approx(0.85, abs=0.01)
    assert stats.binomtest(INSIDE, CANALS, share).pvalue > 0.2


def test_the_study_would_notice_a_method_that_is_much_better_or_worse(study_canals):
    """The check can fail: marks that are not corrected, or a foramen that is never oblique."""
    rng = np.random.default_rng(73)
    wet = draw_wetness(study_canals, rng, tissue_sd_mm=0.0)
    uncorrected = np.abs(corrected_mm(wet, rng) - c.PAPER_K_MM_PER_SQRT_S.value) <= 0.5
    assert stats.binom.sf(INSIDE - 1, CANALS, uncorrected.mean()) < 0.025
    upright = replace(study_canals, foramen_angle_deg=np.zeros(len(study_canals)))
    wet = draw_wetness(upright, rng, tissue_sd_mm=0.0)
    perfect = np.abs(corrected_mm(wet, rng)) <= 0.5
    assert stats.binom.cdf(INSIDE, CANALS, perfect.mean()) < 0.025


def test_an_everyday_hand_does_worse_than_the_study_s(study_canals):
    rng = np.random.default_rng(74)
    wet = draw_wetness(study_canals, rng, tissue_sd_mm=0.0)
    everyday = {"placement_sd_mm": c.PLACEMENT_SD_MM.value, "reading_sd_mm": 0.1}
    share = (np.abs(corrected_mm(wet, rng, **everyday)) <= 0.5).mean()
    assert share == pytest.approx(0.82, abs=0.015)


# --- repeats --------------------------------------------------------------------------------------
def within_95_mm(wet, rng):
    """Half-width (mm) that holds 95 % of the differences of two marks in one canal."""
    length = wet.foramen_mm + wet.tissue_past_mm + 0.5  # far enough that both are wet
    ends = [try_points(wet, length, rng=rng, **STUDY)[1].mark_mm for _ in range(2)]
    both = (ends[0] > 0) & (ends[1] > 0)
    return np.percentile(np.abs(ends[0] - ends[1])[both], 95)


@pytest.mark.parametrize(("entrance_limited", "expected_mm"), [(False, 0.20), (True, 0.26)])
def test_repeats_agree_as_published_under_one_law_and_not_quite_under_the_other(
    study_canals, entrance_limited, expected_mm
):
    """0.19 mm bounded placement and K: consistency, no confirmation. The root of time gives 0.20;
    a resisting entrance, whose marks hang more on the second that is counted, 0.26."""
    rng = np.random.default_rng(75)
    n = len(study_canals)
    wet = draw_wetness(study_canals, rng)
    wet = replace(
        wet, entrance_limited=np.full(n, entrance_limited), block_mm=np.full(n, NOWHERE_MM)
    )
    assert within_95_mm(wet, rng) == pytest.approx(expected_mm, abs=0.01)
    assert float(PUBLISHED["repeat_agreement"]["value_mm"]) == 0.19


@pytest.mark.parametrize(("placement_mm", "identical"), [(0.06, 0.86), (0.20, 0.57)])
def test_the_staircase_by_its_own_measure(study_canals, placement_mm, identical):
    """Longest dry in steps of 0.5 mm: how often two staircases in one canal end at the same step.

    Its repeats are whole steps apart or not at all, so that 0.19 mm says nothing about it.
    """
    rng = np.random.default_rng(76)
    wet = draw_wetness(study_canals, rng)
    first = wet.foramen_mm + wet.tissue_past_mm - 2.0 - rng.uniform(0.0, 0.5, len(study_canals))
    longest = [staircase_mm(wet, first, placement_mm, rng) for _ in range(2)]
    assert (longest[0] == longest[1]).mean() == pytest.approx(identical, abs=0.02)


def staircase_mm(wet, first_mm, placement_mm, rng, **changes):
    """Longest dry length (mm) before the first wet point, in steps of half a millimetre."""
    longest, done = first_mm - 0.5, np.zeros(len(first_mm), dtype=bool)
    for n_steps in range(10):
        length = first_mm + 0.5 * n_steps
        _, touch = try_points(
            wet, length, rng=rng, **{**STUDY, "placement_sd_mm": placement_mm, **changes}
        )
        done |= touch.mark_mm > 0
        longest = np.where(done, longest, length)
    return longest


# --- what the error is made of --------------------------------------------------------------------
# Bias and spread (mm) of a length against the foramen's centre by each cause alone; negative is
# short. Longest dry is read without a correction, marks are corrected for what wicks on average.
CONTRIBUTIONS = {
    "placement, study": (0.0, 0.06),
    "placement, everyday": (0.0, 0.20),
    "step of 0.5 mm, longest dry": (-0.25, 0.14),
    "wicking, uncorrected": (-0.30, 0.06),
    "wicking, corrected": (0.0, 0.06),
    "meniscus": (-0.10, 0.0),
    "obliquity": (-0.13, 0.14),
    "curvature": (0.0, 0.0),
}


def contribution(name, canals, rng):
    """Bias and spread (mm) of one cause, all others switched off."""
    n = len(canals)
    k = c.PAPER_K_MM_PER_SQRT_S.value
    flat = replace(canals, foramen_angle_deg=np.zeros(n), curvature_deg=np.zeros(n))
    wet = draw_wetness(flat, rng, tissue_sd_mm=0.0)
    open_ = {"fold_chance": np.zeros(n), "block_mm": np.full(n, NOWHERE_MM)}
    wet = replace(wet, tissue_past_mm=np.zeros(n), **open_)
    if name.startswith("placement"):
        spread = p.STUDY_PLACEMENT_SD_MM if "study" in name else c.PLACEMENT_SD_MM
        errors = rng.normal(0, spread.value, n)
    elif name.startswith("step"):
        first = wet.foramen_mm - 1.5 - rng.uniform(0.0, 0.5, n)
        errors = staircase_mm(wet, first, 0.0, rng, size_mm=0.05) - wet.foramen_mm  # never binds
    elif name.startswith("wicking"):
        _, touch = try_points(
            wet, wet.foramen_mm + 0.3, rng=rng, **{**STUDY, "placement_sd_mm": 0.0}
        )
        wicked = (touch.mark_mm - 0.3)[touch.mark_mm > 0]
        errors = -wicked if "uncorrected" in name else k - wicked
    else:
        own = {"obliquity": "foramen_angle_deg", "curvature": "curvature_deg"}.get(name)
        shown = replace(flat, **({own: getattr(canals, own)} if own else {}))
        meets = draw_wetness(shown, rng, tissue_sd_mm=0.0).tissue_past_mm
        errors = meets if name == "meniscus" else meets + c.MENISCUS_MM.value
    return float(np.mean(errors)), float(np.std(errors))


@pytest.mark.parametrize("name", CONTRIBUTIONS)
def test_each_cause_contributes_what_the_table_says(study_canals, name):
    bias, spread = contribution(name, study_canals, np.random.default_rng(77))
    assert (bias, spread) == pytest.approx(CONTRIBUTIONS[name], abs=0.015)


def test_the_library_reckons_with_the_bench_s_rim(study_canals):
    """Where paper meets tissue, by the weighing side and by the bench: one distribution."""
    rng = np.random.default_rng(78)
    meets = draw_wetness(study_canals, rng).tissue_past_mm
    rims = -rim_mm(study_canals) - c.MENISCUS_MM.value
    weights = np.array([0.0113, 0.2221, 0.5333, 0.2221, 0.0113])  # five Gauss-Hermite nodes
    mean = sum(
        w * float(o.weights @ (o.first_mm + o.tap_mm * np.arange(len(o.weights))))
        for w, o in zip(weights, map(paper.paper_offsets, range(5)), strict=True)
    )
    assert mean == pytest.approx(meets.mean(), abs=0.02)
    assert mean == pytest.approx(rims.mean(), abs=0.02)


# --- what the library makes of sittings on the bench ----------------------------------------------
def weighed(n, rng, **given):
    sitting = sit("13", n, rng, **given)
    return sitting, reconcile_many([sitting.evidence(i) for i in range(n)])


def paper_trust(result):
    return max(row.trust for row in result.sources if row.kind == "point_trial")


def ends_mm(sitting):
    """First and last length less mark among the wet points of each canal."""
    ends = np.where(sitting.mark_mm > 0, sitting.length_mm - sitting.mark_mm, np.nan)
    some = np.isfinite(ends)
    first, last = some.argmax(axis=1), ends.shape[1] - 1 - some[:, ::-1].argmax(axis=1)
    rows = np.arange(len(ends))
    return np.where(some.any(axis=1), ends[rows, last] - ends[rows, first], 0.0)


def test_liquid_that_is_left_drifts_and_the_library_says_not_dry():
    rng, n = np.random.default_rng(80), 120
    sitting, results = weighed(
        n, rng, state=np.full(n, "draining"), visible=np.full(n, "dry"), repeats=np.full(n, 4)
    )
    drifts = ends_mm(sitting) > 0.7
    assert drifts.sum() > 30
    said = [r.next_step for r, drift in zip(results, drifts, strict=True) if drift]
    not_dry = [step.word == "points" for step in said]
    assert np.mean(not_dry) > 0.9
    assert sum("Not dry" in step.sentence for step in said) > 0.7 * len(said)


def test_a_dry_canal_is_not_called_wet():
    rng, n = np.random.default_rng(81), 120
    _, results = weighed(
        n, rng, state=np.full(n, "sound"), visible=np.full(n, "dry"), repeats=np.full(n, 4)
    )
    assert np.mean(["Not dry" in r.next_step.sentence for r in results]) < 0.05


def test_a_steady_ooze_does_not_make_the_library_certain():
    """Few repeats or many: trust in paper stays below one."""
    rng, n = np.random.default_rng(82), 60
    for repeats in (3, 8):
        sitting, results = weighed(
            n, rng, state=np.full(n, "steady"), visible=np.full(n, "dry"),
            repeats=np.full(n, repeats),
        )  # fmt: skip
        wet = (sitting.mark_mm > 0).sum(axis=1) >= 3
        trust = np.array([paper_trust(r) for r in results])[wet]
        assert np.median(trust) < 0.5  # marks this long were not touched off tissue
        assert trust.max() < 0.999


def test_repeats_without_drift_raise_trust_up_to_a_limit():
    """Short marks that agree: more of them, more trust; then no more, and never certainty."""

    def trust_after(repeats):
        dry = PointTrial(length_mm=25.0, contact_s=1.0, wet_mm=0.0, ran_freely=True)
        wet = PointTrial(length_mm=25.5, contact_s=1.0, wet_mm=0.6, ran_freely=True)
        case = Evidence(
            tooth="13", canal="single", reference_point="cusp tip",
            context=Context(crown="intact"), records=(dry, *[wet] * repeats),
        )  # fmt: skip
        return paper_trust(reconcile_many([case])[0])

    trust = [trust_after(n) for n in (1, 3, 10, 40)]
    assert trust[0] < trust[1]
    assert max(trust) < 0.999
    assert abs(trust[3] - trust[2]) < 0.02


def test_five_seconds_of_contact_are_corrected_with_honest_uncertainty():
    rng, n = np.random.default_rng(83), 150
    found = {}
    for contact in (1.0, 5.0):
        sitting, results = weighed(
            n, rng, state=np.full(n, "sound"), visible=np.full(n, "dry"),
            repeats=np.full(n, 3), contact_s=contact,
        )  # fmt: skip
        is_wet = sitting.mark_mm > 0
        ends = np.where(is_wet, sitting.length_mm - sitting.mark_mm, 0.0).sum(axis=1)
        ends = ends / np.maximum(is_wet.sum(axis=1), 1)
        inside = np.array([
            r.interval_mm()[0] <= f <= r.interval_mm()[1]
            for r, f in zip(results, sitting.foramen_mm, strict=True)
        ])  # fmt: skip
        found[contact] = (
            np.mean((ends - sitting.foramen_mm)[is_wet.sum(axis=1) >= 3]),
            np.mean([r.foramen_mm for r in results] - sitting.foramen_mm),
            np.mean([r.foramen_sd_mm for r in results]),
            inside.mean(),
        )
    taken_at_its_word, corrected, sd, _ = (np.subtract(found[5.0], found[1.0])).tolist()
    assert taken_at_its_word < -0.4  # the mark is longer, so the length seems shorter
    assert abs(corrected) < 0.15
    assert sd >= 0
    assert found[5.0][3] > 0.84


def test_a_bound_point_past_the_foramen_is_met_with_a_question():
    """Dry at every length: the library never says "go longer", and mostly takes no length."""
    rng, n = np.random.default_rng(84), 120
    _, results = weighed(
        n, rng, state=np.full(n, "bound"), visible=np.full(n, "dry"), repeats=np.full(n, 2)
    )
    words = [r.next_step.word for r in results]
    assert "longer" not in words
    assert np.mean([word != "confirm" for word in words]) > 0.6
    asked = [r.next_step.sentence for r in results if r.next_step.word == "points"]
    assert asked
    assert any(sentence.startswith("Do not go longer") for sentence in asked)


# --- coverage -------------------------------------------------------------------------------------
SITTINGS = 5_000


def naive_ranks(sitting):
    """Every wet point an independent measurement of the foramen; what canals share is forgotten."""
    ends = np.where(sitting.mark_mm > 0, sitting.length_mm - sitting.mark_mm, np.nan)
    n = np.isfinite(ends).sum(axis=1)
    expected_rim = 0.1255 + c.MENISCUS_MM.value  # the mean of the table above
    wicked = c.PAPER_K_MM_PER_SQRT_S.value * np.sqrt(sitting.contact_s)
    with np.errstate(invalid="ignore"):
        mean = np.nansum(ends, axis=1) / np.maximum(n, 1) + wicked + expected_rim
        one = np.hypot(c.PLACEMENT_SD_MM.value, c.MARK_READING_SD_MM.value)
        return np.where(
            n > 0, stats.norm.cdf(sitting.foramen_mm, mean, one / np.sqrt(np.maximum(n, 1))), np.nan
        )


@pytest.fixture(scope="module")
def many():
    """Ranks of the truth by the library and by the naive model, with what is visible of each."""
    rng = np.random.default_rng(90)
    each = SITTINGS // 5
    sittings = [sit(tooth, each, rng) for tooth in ("11", "13", "23", "34", "44")]
    results = reconcile_many([s.evidence(i) for s in sittings for i in range(each)])
    truth = np.concatenate([s.foramen_mm for s in sittings])
    return {
        "rank": np.array([r.probability_past(f) for r, f in zip(results, truth, strict=True)]),
        "naive": np.concatenate([naive_ranks(s) for s in sittings]),
        **{
            name: np.concatenate([getattr(s, name) for s in sittings])
            for name in ("repeats", "visible", "state")
        },
        "felt": np.concatenate([s.felt.any(axis=1) for s in sittings]),
        "ever_wet": np.concatenate([(s.mark_mm > 0).any(axis=1) for s in sittings]),
    }


@pytest.mark.slow
def test_intervals_cover_in_every_visible_bin(many):
    rank = many["rank"]
    bins = {
        (name, value): many[name] == value
        for name in ("repeats", "visible", "felt", "ever_wet")
        for value in np.unique(many[name])
    } | {
        (repeats, visible): (many["repeats"] == repeats) & (many["visible"] == visible)
        for repeats in range(1, 5)
        for visible in ("dry", "moist", "blood")
    }
    assert misses(rank, bins) == {}


def test_a_bin_that_covers_too_little_or_much_too_often_is_noticed():
    inside, outside = np.full(850, 0.5), np.full(150, 0.99)
    assert not is_as_promised(np.concatenate([inside, outside]))
    assert not is_as_promised(np.full(1000, 0.5))


@pytest.mark.slow
def test_the_naive_model_claims_more_the_more_it_repeats(many):
    """Independent repeats: the interval shrinks, what the canal shares does not."""
    naive, wet = many["naive"], np.isfinite(many["naive"])
    covered = [held(naive[wet & (many["repeats"] == n)]) for n in range(1, 5)]
    assert covered[0] > covered[3]
    assert max(covered) < 0.80
    assert covered[3] < 0.65


@pytest.mark.slow
def test_what_cannot_be_seen_is_covered_less(many):
    """Not a promise but a fact to know: a plug or an ooze that nothing betrays costs coverage."""
    hidden = {
        state: held(many["rank"][many["state"] == state]) for state in np.unique(many["state"])
    }
    assert hidden["sound"] > 0.88
    assert min(hidden.values()) > 0.70
