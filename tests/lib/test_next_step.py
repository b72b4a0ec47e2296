"""What to do next, and what it is worth: laws, limits, and what comes before any sum."""

import re
from dataclasses import fields, replace
from functools import partial

import numpy as np
import pytest
from least_loss import least_expected_loss
from lengthwise.evidence import Context, ElectronicReading, Evidence, PointTrial, WorkingFilm
from lengthwise.reconciliation import Loss, reconcile, reconcile_sources, sources_of
from lengthwise.reconciliation.families import canal_of
from lengthwise.reconciliation.landmark import known_of
from lengthwise.reconciliation.next_actions import ACTIONS, Weighed, possible_actions
from lengthwise.reconciliation.next_step import choose_next_step
from lengthwise.reconciliation.next_worth import Worth, worth_of
from lengthwise.reconciliation.plan import Plan, Step
from lengthwise.reconciliation.sampler import draw_case
from lengthwise.reference import actions

KINDS = ("working_film", "electronic_reading", "point_trial")
SIGNAL = ElectronicReading(foramen_signal_mm=25.0)
FILM = WorkingFilm(
    file_length_mm=25.0, tip_short_of_radiographic_apex_mm=0.7, technique="paralleling"
)
DRY = PointTrial(length_mm=25.0, contact_s=1.0, wet_mm=0.0, ran_freely=True)
WET = PointTrial(length_mm=25.5, contact_s=1.0, wet_mm=0.5, ran_freely=True)


def case(*records, **context):
    return Evidence(
        tooth="13",
        canal="single",
        reference_point="cusp tip",
        context=Context(**{"crown": "intact", "pulp": "necrotic", **context}),
        records=records,
    )


def worth(kind, evidence, loss=None, cost=0.0):
    result = reconcile(evidence, loss=loss)
    known = known_of(canal_of(evidence, result.used), result.posterior)
    rng = partial(np.random.default_rng, 3)
    return worth_of(known, kind, evidence, result.loss, cost=cost, rng=rng)


def drawn(steps, rng):
    plan = Plan("23", "single", steps, Context(crown="intact", pulp="vital"))
    return draw_case(plan, rng)[0]


PLANS = (
    (Step("preoperative_film"), Step("electronic_reading", stage="before_flare")),
    (Step("working_film", technique="paralleling"), Step("point_trial", run_recorded=True)),
    (
        Step("electronic_reading", repeats=2, stage="after_flare"),
        Step("point_trial", stage="after_shaping", liquid_in_canal="moist"),
    ),
    (Step("tactile_stop"),),
)


@pytest.mark.parametrize("steps", PLANS, ids=lambda steps: steps[0].kind)
@pytest.mark.parametrize("kind", KINDS)
def test_a_gain_is_never_negative_and_never_more_than_what_its_landmark_is_worth(steps, kind):
    rng = np.random.default_rng(70)
    for _ in range(2):
        evidence = drawn(steps, rng)
        result = reconcile(evidence)
        found = worth(kind, evidence)
        now = least_expected_loss(result.posterior, result.loss)
        assert 0 <= found.gain <= found.most <= now + 0.01


@pytest.mark.parametrize(
    ("kind", "already"),
    [("electronic_reading", [SIGNAL]), ("working_film", [FILM]), ("point_trial", [DRY, WET, WET])],
)
def test_another_one_is_worth_less_the_more_there_are(kind, already):
    gains = [worth(kind, case(*already * n)).gain for n in (0, 1, 3, 8)]
    assert gains[0] > gains[1] > gains[2] > gains[3]
    assert gains[3] < 0.1 * gains[1]


def test_repeats_leave_what_a_canal_shares_to_other_sources():
    many = case(*[SIGNAL] * 12)
    assert worth("electronic_reading", many).gain < 0.001
    assert worth("point_trial", many).gain > 0.1


def test_where_everything_is_known_the_length_is_confirmed():
    step = reconcile(case(*[FILM] * 3, *[SIGNAL] * 3, *[DRY, WET, WET] * 3)).next_step
    assert step.word == "confirm"
    assert step.sentence.startswith("Enough for the length; confirm by radiograph as your clinic")


def test_one_wide_source_asks_for_another():
    step = reconcile(case(SIGNAL)).next_step
    assert step.word in ("film", "points")
    assert re.search(
        r"in a stretch of \d\.\d mm\. It is expected to spare more \(0\.\d+\) than it costs "
        r"\(0\.\d+, [a-z ]+\), counted in millimetres short\.",
        step.sentence,
    )


def test_the_same_case_gets_the_same_advice():
    evidence = case(SIGNAL, FILM)
    read_again = Evidence.from_json(evidence.to_json())
    assert reconcile(evidence).next_step == reconcile(read_again).next_step


@pytest.mark.parametrize("kind", KINDS)
def test_a_loss_in_another_unit_scales_the_gain(kind):
    evidence = case(SIGNAL)
    loss = Loss.for_context(evidence.context, 0.5)
    double = replace(
        loss,
        **{f.name: 2 * getattr(loss, f.name) for f in fields(loss) if f.name.endswith("per_mm")},
    )
    once, twice = worth(kind, evidence, loss), worth(kind, evidence, double)
    assert twice.gain == pytest.approx(2 * once.gain, rel=1e-9)
    assert twice.most == pytest.approx(2 * once.most, rel=1e-9)


def test_the_gain_knows_nothing_of_what_a_stop_can_be_set_to():
    evidence = case(SIGNAL)
    fine, coarse = (
        worth("working_film", evidence, Loss(settable_step_mm=step)) for step in (0.05, 1.0)
    )
    assert fine == coarse


def test_a_bound_below_the_cost_spares_the_work():
    found = worth("electronic_reading", case(SIGNAL, FILM, DRY, WET), cost=10.0)
    assert found.gain == found.most < 10.0


def jumping(**changes):
    """A reading whose display stands still and jumps past its signal: nobody believes it."""
    depth = np.arange(18.0, 24.51, 0.05).tolist()
    return ElectronicReading(
        time_s=tuple(0.05 * i for i in range(len(depth))),
        depth_mm=tuple(depth),
        indicated=tuple(3.0 if d < 23.0 else -0.2 for d in depth),
        **changes,
    )


def test_after_a_trace_that_jumped_another_reading_is_worth_as_much_as_in_any_canal():
    """It is expected to behave once the cause is put right; not any more after two in vain."""
    moist, flooded = (jumping(liquid_in_canal=liquid) for liquid in ("moist", "flooded"))
    again = [worth("electronic_reading", case(FILM, bad)).gain for bad in (moist, flooded)]
    assert again[0] == pytest.approx(again[1], rel=0.1)
    assert again[0] > worth("electronic_reading", case(FILM)).gain
    assert worth("electronic_reading", case(FILM, moist, moist)).gain < 0.2 * again[0]


def actions_now(evidence):
    return possible_actions(canal_of(evidence, sources_of(evidence)))


def test_nothing_goes_into_a_canal_without_an_estimate_and_no_point_before_shaping():
    assert [a.word for a in actions_now(case())] == ["film"]
    early = SIGNAL.model_copy(update={"stage": "after_flare"})
    assert [a.word for a in actions_now(case(early))] == ["film", "reading"]
    assert len(actions_now(case(SIGNAL))) == 3


def test_costs_are_judgements_with_a_range():
    for action in ACTIONS:
        assert action.cost.unit == "1"
        assert 0 < action.cost.low < action.cost.value < action.cost.high


# ---- what comes before any sum ---------------------------------------------------------------


def weighed(**nets):
    by_word = {action.word: action for action in ACTIONS}
    found = [
        Weighed(by_word[word], Worth(net + by_word[word].cost.value, 9.0), spoken)
        for word, (net, spoken) in nets.items()
    ]
    return lambda: sorted(found, key=lambda one: -one.net)


NARROW, WIDE = (25.0, 25.9), (23.0, 26.0)


def test_scope_and_points_speak_before_worth():
    rich = weighed(film=(0.9, False))
    assert choose_next_step(("a ledge",), NARROW, rich).word == "ask"
    assert choose_next_step((), NARROW, rich, question="Not dry: …").word == "points"
    assert choose_next_step((), WIDE, rich, conflict=lambda: "they stay apart").word == "ask"
    assert choose_next_step((), NARROW, rich, conflict=lambda: "they stay apart").word == "film"


def test_steps_worth_nearly_as_much_are_named_too():
    near = actions.NEARLY_EQUAL_WORTH.value
    step = choose_next_step(
        (), WIDE, weighed(film=(0.5, False), reading=(0.51 - near, True), points=(0.3, False))
    )
    assert (step.word, step.also) == ("film", ("reading",))
    assert 'Worth nearly as much: "reading".' in step.sentence
    assert choose_next_step((), WIDE, weighed(film=(0.5, False), reading=(0.3, True))).also == ()


def test_a_wide_answer_hears_everybody_before_it_asks():
    unheard = weighed(film=(-0.05, False), reading=(-0.01, True))
    step = choose_next_step((), WIDE, unheard)
    assert step.word == "film"
    assert "spare no more" in step.sentence
    assert "no length can be taken as it is" in step.sentence
    assert choose_next_step((), NARROW, unheard).word == "confirm"
    heard = weighed(film=(-0.05, True), reading=(-0.01, True))
    assert choose_next_step((), WIDE, heard).word == "ask"


def torn(liquid=None):
    """A reading, a film and points that were repeated and put the foramen into three places."""
    short = ElectronicReading(foramen_signal_mm=22.0)
    long = FILM.model_copy(update={"tip_short_of_radiographic_apex_mm": 1.5})
    shared = {"liquid_in_canal": liquid}
    dry = DRY.model_copy(update={**shared, "length_mm": 23.0})
    wet = WET.model_copy(update={**shared, "length_mm": 23.5, "wet_mm": 0.8})
    return reconcile(case(short, short, long, long, dry, wet, wet))


def test_repeated_sources_that_stay_apart_after_all_have_spoken_are_a_question():
    low, high = torn().interval_mm()
    assert high - low > 2.0
    assert torn().next_step.word == "ask"
    assert "were repeated and stay 4.0 mm apart" in torn().next_step.sentence


def test_as_long_as_the_canal_has_not_been_dried_there_is_something_to_do():
    assert torn("moist").next_step.word == "points"


def test_a_source_that_was_set_aside_is_not_joined_again():
    """What the ruler of lesson 06 does: a dropped source is no part of what a repeat would join."""
    evidence = case(*[SIGNAL] * 8, FILM)
    kept = tuple(s for s in sources_of(evidence) if s.kind != "electronic_reading")
    (without,) = reconcile_sources(evidence, [kept])
    assert worth_without(without) == pytest.approx(
        worth("electronic_reading", case(FILM)).gain, rel=1e-6
    )


def worth_without(result):
    known = known_of(canal_of(result.evidence, result.used), result.posterior)
    rng = np.random.default_rng(3)
    return worth_of(
        known, "electronic_reading", result.evidence, result.loss, cost=0.0, rng=lambda: rng
    ).gain
