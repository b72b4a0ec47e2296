"""The bench of paper points: what comes out of the physics, what is refused, what is replayed."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench import canal_space
from lengthwise.bench.canal_space import NOWHERE_MM, binds_mm, level_mm, space_of, volume_ul
from lengthwise.bench.canal_state import BLEEDING_CAUSES, as_canals, draw_state, wetness_of
from lengthwise.bench.patient import Patient
from lengthwise.bench.point_actions import (
    AngledRadiograph,
    CallSupervisor,
    CheckPatency,
    DressAndRebook,
    Dry,
    PeroxidePoint,
    PeroxideSyringe,
    Rinse,
    TryPoint,
    Wait,
)
from lengthwise.bench.point_touch import draw_wetness, fill, pool_of, try_points
from lengthwise.bench.points import replay, step
from lengthwise.reference import points as p

N = 4000
BRIEF = {"contact_s": 1.0, "size_mm": 0.20, "taper": 0.02, "placement_sd_mm": 0.0}


@pytest.fixture
def rng():
    return np.random.default_rng(7)


@pytest.fixture
def canals(rng):
    return draw_canals("13", N, rng)


def drawn(rng, **changes):
    state = draw_state(draw_canals("13", 1, rng).one(0), rng)
    plain = {
        "cause": "none", "bleeding": "none", "remnant_mm": 0.0, "block_mm": NOWHERE_MM,
        "lateral_mm": None, "fold_chance": 0.0, "seep_ul_per_s": 0.0, "tissue_past_mm": -0.3,
    }  # fmt: skip
    roomy = replace(state.canal, constriction_diameter_mm=0.3)
    return replace(state, **{"canal": roomy, **plain, **changes})


def dried(rng, **changes):
    without = {
        "pool_ul": 0.0, "wall_moisture": 0.0, "irrigant": "none", "liquid_in_canal": "dry",
    }  # fmt: skip
    return drawn(rng, **{**without, **changes})


LONG = {"point_length_mm": 35.0}


def trial(state, past_mm, rng):
    state, outcome = step(state, TryPoint(state.canal.foramen_mm + past_mm, **LONG), rng)
    return state, outcome.trial


# --- the room inside ------------------------------------------------------------------------------
def test_level_and_volume_are_each_other_s_inverse(canals):
    space = space_of(canals)
    for height in (0.05, 0.7, 3.3, 12.0):
        level = level_mm(space, volume_ul(space, np.full(N, height)))
        np.testing.assert_allclose(level, height, atol=1e-9)


def test_a_cylinder_holds_what_a_cylinder_holds():
    """0.3 mm wide: 0.0707 µl per millimetre."""
    canal = draw_canals("13", 1, np.random.default_rng(1)).one(0)
    tube = replace(
        canal, foramen_diameter_mm=0.3, constriction_diameter_mm=0.3,
        diameter_bl_mm=(0.3, 0.3, 0.3), diameter_md_mm=(0.3, 0.3, 0.3),
    )  # fmt: skip
    space = space_of(as_canals(tube), shaped=False)
    for height in (0.35, 1.0, 7.0):
        expected = np.pi * 0.15**2 * height
        assert volume_ul(space, np.array([height]))[0] == pytest.approx(expected, rel=1e-9)


def test_a_point_sticks_where_it_is_as_wide_as_the_canal():
    canal = draw_canals("13", 1, np.random.default_rng(1)).one(0)
    narrow = replace(
        canal, foramen_mm=canal.apex_mm - 0.4, constriction_mm=canal.apex_mm - 1.4,
        constriction_diameter_mm=0.20, foramen_diameter_mm=0.5,
        diameter_bl_mm=(0.2, 0.4, 1.0), diameter_md_mm=(0.2, 0.4, 1.0),
    )  # fmt: skip
    space = space_of(as_canals(narrow), shaped=False)
    gives = p.PAPER_GIVES_MM.value
    # A strip of 0.3 mm: the canal widens from 0.2 at 1.0 to 0.4 at 1.6 mm above the foramen.
    by_hand = 1.0 + (0.30 - gives - 0.20) / (0.40 - 0.20) * (1.6 - 1.0)
    assert binds_mm(space, 0.30, 0.0)[0] == pytest.approx(by_hand, abs=0.1)  # kept every tenth
    assert binds_mm(space, 0.15, 0.0)[0] == NOWHERE_MM
    assert binds_mm(space, 0.15, 0.10)[0] == pytest.approx(1.0 - (0.2 + gives - 0.15) / 0.10)


def test_larger_points_bind_more_often_and_higher(canals):
    space = space_of(canals)
    stops = [binds_mm(space, np.full(N, size), 0.02) for size in (0.15, 0.2, 0.25, 0.3, 0.4)]
    assert all(np.all(b >= a) for a, b in pairwise(stops))
    shares = [(s > NOWHERE_MM).mean() for s in stops]
    assert shares[0] < 0.01 < 0.1 < shares[-1]


# --- one point ------------------------------------------------------------------------------------
def test_a_dry_canal_wets_a_point_only_past_where_tissue_is(canals, rng):
    dry = draw_wetness(canals, rng)
    for offset in (-0.5, -0.05, 0.05, 0.5):
        _, touch = try_points(dry, dry.foramen_mm + dry.tissue_past_mm + offset, rng=rng, **BRIEF)
        past = touch.tip_past_mm > dry.tissue_past_mm
        np.testing.assert_array_equal(touch.mark_mm > 0, past)
        assert np.all(touch.stuck[~past] | (offset < 0))  # dry although far enough: it stuck


def test_longer_contact_makes_longer_marks(canals, rng):
    dry = draw_wetness(canals, rng)
    means = []
    for contact in (1.0, 5.0, 20.0):
        _, touch = try_points(dry, dry.foramen_mm + 0.3, **{**BRIEF, "contact_s": contact}, rng=rng)
        means.append(touch.mark_mm[touch.mark_mm > 0].mean())
    assert means[0] + 0.4 < means[1] < means[2] - 0.4


def test_curved_canals_that_were_not_shaped_stay_dry_more_often(canals, rng):
    sharp = replace(canals, curvature_deg=np.full(N, 30.0))
    straight = replace(canals, curvature_deg=np.zeros(N))
    share = {}
    for name, some, shaped in (
        ("straight", straight, True), ("curved", sharp, True), ("unshaped", sharp, False)
    ):  # fmt: skip
        wet = draw_wetness(some, rng, shaped=shaped)
        _, touch = try_points(wet, wet.foramen_mm + 0.8, rng=rng, **{**BRIEF, "size_mm": 0.15})
        share[name] = (touch.mark_mm == 0).mean()
    assert share["straight"] < share["curved"] < share["unshaped"]


def test_a_blocked_canal_stays_dry_at_any_length(rng):
    state = dried(rng, block_mm=1.0)
    for past in (-0.5, 0.5, 2.0, 4.0):
        state, record = trial(state, past, rng)
        assert record.mark_site == "none"
    _, seen = step(state, CheckPatency(), rng)
    assert "blocked" in seen.sentence


def test_a_block_can_be_rinsed_and_passed(rng):
    state = dried(rng, block_mm=1.0)
    for _ in range(20):
        state, _ = step(state, Rinse(), rng)
        state, _ = step(state, CheckPatency(), rng)
    assert state.block_mm == NOWHERE_MM


def test_an_oblique_foramen_leaves_an_oblique_edge(rng):
    straight, oblique = (
        dried(rng, canal=replace(dried(rng).canal, foramen_angle_deg=angle))
        for angle in (0.0, 60.0)
    )
    edges = [trial(oblique, 0.5, rng)[1] for _ in range(20)]
    assert {r.mark_site for r in edges} == {"tip_oblique"}
    assert np.mean([r.oblique_edge_mm for r in edges]) == pytest.approx(0.2 * np.sqrt(3), abs=0.05)
    plain = [trial(straight, 0.5, rng)[1] for _ in range(20)]
    assert sum(r.mark_site == "tip_straight" for r in plain) >= 18


def test_an_opening_in_the_side_wets_the_side_and_leaves_the_tip_dry(rng):
    state = dried(rng, cause="perforation", lateral_mm=3.0, bleeding="none")
    state, record = trial(state, -1.0, rng)
    assert record.mark_site == "side"
    assert record.wet_mm > 0
    assert "perforation" in state.suspected


def test_living_tissue_left_behind_wets_a_point_short_of_the_foramen(rng):
    state = dried(rng, cause="tissue_remnant", remnant_mm=2.0)
    _, record = trial(state, -1.5, rng)
    assert record.wet_mm > 0
    assert record.liquid == "blood"


def test_moist_walls_wet_the_whole_point(rng):
    state, record = trial(dried(rng, wall_moisture=0.0), -2.0, rng)
    assert record.mark_site == "none"
    _, record = trial(replace(state, wall_moisture=1.0), -2.0, rng)
    assert record.mark_site == "whole"


# --- liquid that is left --------------------------------------------------------------------------
def test_each_point_removes_what_it_holds_and_no_more_than_is_there(canals, rng):
    wet = pool_of(draw_wetness(canals, rng), np.full(N, 1.0))
    after, touch = try_points(wet, wet.foramen_mm, rng=rng, **BRIEF)
    taken = wet.pool_ul - after.pool_ul
    assert np.all(taken >= 0)
    assert np.all(after.pool_ul >= 0)
    holds = (
        p.HELD_SHARE.value * np.pi / 3 / 0.01 * ((0.1 + 0.01 * (touch.mark_mm + 0.5)) ** 3 - 1e-3)
    )
    assert np.all(taken <= np.maximum(holds, 0) + 1e-9)  # half a millimetre for reading the mark


def test_liquid_that_is_left_makes_lengths_drift(canals, rng):
    wet = pool_of(draw_wetness(canals, rng), np.full(N, 2.0))
    levels, marks = [], []
    for _ in range(5):
        wet, touch = try_points(wet, wet.foramen_mm - 0.3, rng=rng, **BRIEF)
        levels.append(np.median(level_mm(wet.space, wet.pool_ul)))
        marks.append(np.median(touch.mark_mm))
    falls = -np.diff(levels)
    assert np.all(falls >= 0)
    assert 0.2 < falls[0] < 1.0  # about half a millimetre a point
    assert marks[0] > marks[2] > marks[4]


def test_a_steady_ooze_repeats_perfectly_and_is_wrong(canals, rng):
    wet = replace(draw_wetness(canals, rng), seep_ul_per_s=np.full(N, p.OOZE_UL_PER_S.value))
    for _ in range(25):  # until what comes is what goes
        wet, touch = try_points(fill(wet, 30.0), wet.foramen_mm - 0.2, rng=rng, **BRIEF)
    repeats = []
    for _ in range(4):
        wet, touch = try_points(fill(wet, 30.0), wet.foramen_mm - 0.2, rng=rng, **BRIEF)
        repeats.append(touch.mark_mm)
    repeats = np.array(repeats)
    wet_ones = np.all(repeats > 0, axis=0)
    drift = repeats[-1, wet_ones] - repeats[0, wet_ones]
    assert wet_ones.mean() > 0.5
    assert abs(np.median(drift)) < 0.05
    truly = np.maximum(-0.2 - wet.tissue_past_mm, 0)[wet_ones] + 0.3
    assert np.median(repeats[:, wet_ones].mean(axis=0) - truly) > 0.5  # reads much too short


def test_some_canals_never_dry(rng):
    for cause, changes in (
        ("perforation", {"bleeding": "oozing", "lateral_mm": 2.0}),
        ("resorption", {"bleeding": "brisk"}),
        ("seeping", {"seep_ul_per_s": 0.02}),
    ):
        state = drawn(rng, cause=cause, **changes)
        inside = state.canal.foramen_mm - 0.8
        for _ in range(6):
            state, _ = step(state, Rinse("hypochlorite"), rng)
            state, _ = step(state, Wait(300.0), rng)
            state, _ = step(state, Dry(inside, points=4), rng)
            state, _ = step(state, Wait(60.0), rng)
            assert state.pool_ul > 0, cause
        state, _ = step(state, DressAndRebook(), rng)
        assert state.pool_ul > 0, cause


def test_an_ordinary_canal_dries_with_six_points(rng):
    dry = 0
    for _ in range(50):
        state = drawn(rng)
        state, outcome = step(state, Dry(state.canal.foramen_mm - 0.8, points=6), rng)
        dry += outcome.sentence.endswith("dry.")
    assert dry > 40


def test_bleeding_that_settles_settles(rng):
    state = dried(rng, cause="over_length", bleeding="brisk")
    for _ in range(30):
        state, _ = step(state, Wait(180.0), rng)
    assert state.bleeding == "none"
    fresh = dried(rng, cause="tissue_remnant", remnant_mm=1.5, bleeding="oozing")
    for _ in range(30):
        fresh, _ = step(fresh, Rinse("hypochlorite"), rng)
    assert (fresh.bleeding, fresh.remnant_mm) == ("none", 0.0)


# --- what is refused ------------------------------------------------------------------------------
def test_peroxide_from_a_syringe_is_always_refused_and_a_safety_failure(rng):
    state = dried(rng)
    after, outcome = step(state, PeroxideSyringe(), rng)
    assert after == state
    assert (outcome.refused, outcome.safety_failure) == (True, True)
    assert "gas" in outcome.sentence


@pytest.mark.parametrize("suspicion", ["open_apex", "perforation", "resorption", "sinus"])
def test_a_dampened_point_is_a_safety_failure_where_it_could_reach_the_tissues(rng, suspicion):
    state = dried(rng, suspected=frozenset({suspicion}), dry_mm=(25.0,))
    after, outcome = step(state, PeroxidePoint(20.0), rng)
    assert after == state
    assert (outcome.refused, outcome.safety_failure) == (True, True)
    assert suspicion.replace("_", " ") in outcome.sentence


@pytest.mark.parametrize("suspicion", ["open_apex", "perforation", "resorption", "sinus"])
def test_hypochlorite_is_refused_where_it_could_reach_the_tissues_and_saline_is_not(rng, suspicion):
    state = dried(rng, suspected=frozenset({suspicion}))
    after, outcome = step(state, Rinse("hypochlorite"), rng)
    assert after == state
    assert outcome.refused
    assert "hypochlorite could reach the tissues. Ask." in outcome.sentence
    assert not step(state, Rinse("saline"), rng)[1].refused


def test_a_dampened_point_needs_a_dry_length_and_no_hypochlorite(rng):
    bleeding = dried(rng, cause="over_length", bleeding="oozing")
    for state, length, word in (
        (bleeding, 20.0, "none is known"),
        (replace(bleeding, dry_mm=(24.0,)), 23.5, "at least 1 mm short"),
        (replace(bleeding, dry_mm=(24.0,), irrigant="hypochlorite"), 22.0, "hypochlorite"),
    ):
        after, outcome = step(state, PeroxidePoint(length), rng)
        assert after == state
        assert (outcome.refused, outcome.safety_failure) == (True, False)
        assert word in outcome.sentence
    calmed = [
        step(replace(bleeding, dry_mm=(24.0,)), PeroxidePoint(23.0), rng)[0].bleeding
        for _ in range(40)
    ]
    assert calmed.count("none") > 15


def test_a_point_that_is_wet_at_its_tip_takes_back_the_dry_lengths_from_its_own_on(rng):
    """A dampened point past the foramen was allowed on the strength of a false dry before."""
    state = dried(rng, bleeding="oozing", cause="over_length")
    foramen = state.canal.foramen_mm
    state = replace(state, dry_mm=(foramen - 2.0, foramen + 0.5, foramen + 3.0))
    state, record = trial(state, 0.5, rng)
    assert record.mark_site in ("tip_straight", "tip_oblique")
    assert state.longest_dry_mm == foramen - 2.0
    after, outcome = step(state, PeroxidePoint(foramen - 0.1), rng)
    assert after == state
    assert f"1 mm short of the longest dry length (it is {foramen - 2.0:g} mm)" in outcome.sentence


def test_a_dry_point_that_ended_on_a_plug_opens_no_way_for_a_dampened_one():
    allowed = 0
    for seed in range(20):
        rng = np.random.default_rng(seed)
        state = dried(rng, block_mm=1.0)
        while state.longest_dry_mm is None:  # now and then a stuck point is felt
            state, _ = trial(state, 1.5, rng)
        past = PeroxidePoint(state.canal.foramen_mm + 0.1)
        allowed += not step(state, past, rng)[1].refused  # nobody knows of the plug yet
        state, seen = step(state, CheckPatency(), rng)
        assert seen.obstruction == "block"
        assert "none is known" in step(state, past, rng)[1].sentence
        state, _ = step(step(state, Rinse(), rng)[0], CheckPatency(), rng)
        assert "none is known" in step(state, past, rng)[1].sentence
    assert allowed > 0


def test_whoever_looks_finds_a_cause_that_can_be_seen(rng):
    for action in (CallSupervisor(), AngledRadiograph()):
        for cause in ("perforation", "resorption", "sinus"):
            state, outcome = step(dried(rng, cause=cause), action, rng)
            assert state.suspected == {cause}
            assert "refer" in outcome.sentence
        state, outcome = step(dried(rng), action, rng)
        assert not state.suspected


@pytest.mark.parametrize(
    ("action", "field"),
    [
        (TryPoint(-1.0), "length_mm"),
        (TryPoint(250.0), "length_mm"),
        (TryPoint(float("nan")), "length_mm"),
        (TryPoint(25.0, contact_s=-1.0), "contact_s"),
        (TryPoint(25.0, contact_s=1e6), "contact_s"),
        (TryPoint(29.5), "point_length_mm"),
        (TryPoint(36.0, point_length_mm=36.0), "length_mm"),
        (TryPoint(25.0, size=20.5), "size"),
        (Dry(25.0, points=2.5), "points"),
        (Dry(25.0, points=2.0), "points"),
        (Rinse("water"), "liquid"),
        (TryPoint(25.0, size=22), "size"),
        (TryPoint(25.0, taper=0.5), "taper"),
        (Dry(25.0, points=0), "points"),
        (Dry(25.0, size=3), "size"),
        (Wait(-5.0), "seconds"),
        (PeroxidePoint(0.0), "length_mm"),
        ("dry", "action"),
    ],
)
def test_what_cannot_be_is_refused_and_the_state_stays(rng, action, field):
    state = dried(rng)
    before = replace(state)
    with pytest.raises(ValueError, match=f"field {field}: got .*allowed"):
        step(state, action, rng)
    assert state == before


def test_numbers_may_be_numpy_s_own(rng):
    state = dried(rng)
    asked = TryPoint(np.int64(20), contact_s=np.float32(1), size=np.int64(20))
    record = step(state, asked, rng)[1].trial
    assert (record.length_mm, record.contact_s, record.size) == (20.0, 1.0, 20)


def test_a_length_that_no_point_reaches_is_refused_as_one():
    with pytest.raises(ValueError, match="field length_mm: got 36; allowed is 5 to 35"):
        Patient("13", np.random.default_rng(1)).point_trial(36.0)


def test_a_wrong_action_is_told_the_names_of_the_right_ones(rng):
    with pytest.raises(ValueError, match="allowed are TryPoint, Dry, Rinse, Wait, ") as refused:
        step(dried(rng), "dry", rng)
    assert "lengthwise" not in str(refused.value)


# --- the log --------------------------------------------------------------------------------------
ROUND = [
    Rinse("hypochlorite"), Rinse("saline"), Dry(24.0), TryPoint(24.0), TryPoint(24.5), Wait(60.0),
    TryPoint(25.0, contact_s=2.0), CheckPatency(), PeroxidePoint(22.0), PeroxideSyringe(),
    AngledRadiograph(), CallSupervisor(), DressAndRebook(), Dry(24.0), TryPoint(24.0),
]  # fmt: skip


def test_the_log_replays_exactly():
    other = 0
    for seed in range(20):
        rng = np.random.default_rng(seed)
        state = draw_state(draw_canals("13", 1, rng).one(0), rng)
        first = replay(state, ROUND, np.random.default_rng(seed))
        again = replay(state, ROUND, np.random.default_rng(seed))
        assert first == again
        other += first[1] != replay(state, ROUND, np.random.default_rng(seed + 1))[1]
    assert other > 10  # chance matters, unless every point stays dry


def test_a_state_is_never_changed_in_place(rng):
    state = drawn(rng)
    before = replace(state)
    replay(state, ROUND, rng)
    assert state == before


def test_one_canal_is_worked_out_like_one_of_many(rng):
    state = dried(rng, k_mm_per_sqrt_s=0.3, entrance_limited=True)
    alone = wetness_of(state)
    _, record = trial(state, 0.4, np.random.default_rng(3))
    _, touch = try_points(
        fill(alone, 30.0), state.canal.foramen_mm + 0.4, contact_s=1.0, size_mm=0.2, taper=0.02,
        placement_sd_mm=0.2, rng=np.random.default_rng(3),
    )  # fmt: skip
    assert record.wet_mm == touch.mark_mm[0]


def test_what_an_outcome_says_holds_no_truth(rng):
    state = drawn(rng, cause="seeping", seep_ul_per_s=0.001)
    _, log = replay(state, ROUND, rng)
    for outcome in log:
        assert "seep" not in outcome.sentence
        assert f"{state.canal.foramen_mm:.1f}" not in outcome.sentence


def test_the_grid_of_heights_is_fine_where_lengths_are_found():
    assert np.all(np.diff(canal_space.HEIGHTS_MM)[:39] < 0.11)


def test_a_patient_is_dried_and_tried_like_the_pure_function():
    patient, other = (Patient("13", np.random.default_rng(4)) for _ in range(2))
    inside = patient.canal.foramen_mm - 1.0
    patient.dry(inside)
    records = [patient.point_trial(inside + 0.5 * n) for n in range(3)]
    assert patient.log == records
    state = draw_state(other.canal, other.rng)
    actions = [outcome.action for outcome in patient.outcomes]
    state, outcomes = replay(state, actions, other.rng)
    assert outcomes == tuple(patient.outcomes)
    assert state == patient.state


def test_a_patient_s_log_and_canal_stay_when_a_trial_is_refused():
    patient = Patient("13", np.random.default_rng(4))
    patient.dry(22.0)
    before = patient.state
    with pytest.raises(ValueError, match="field contact_s"):
        patient.point_trial(22.0, contact_s=-1.0)
    assert patient.log == []
    assert patient.state == before


def test_what_makes_a_canal_bleed_adds_up():
    assert sum(BLEEDING_CAUSES.values()) == pytest.approx(1.0)
