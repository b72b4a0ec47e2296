"""Marks follow the evidence: the length's slopes, the interval's score, and "not yet"."""

from collections import Counter

import numpy as np
import pytest
from lengthwise.classroom.report_parts import options_sheet
from lengthwise.evidence import Context, ElectronicReading, Evidence, PointTrial, WorkingFilm
from lengthwise.marking import Determination, GradedCase, a6_cases, mark, meter_traces
from lengthwise.marking.beliefs import implied_lengths_mm
from lengthwise.marking.casebook import draw_assignment, student_generator
from lengthwise.marking.clues import Clue
from lengthwise.marking.diagnosis import named_in
from lengthwise.marking.items import Item, Option, ShuffledItem, mark_item, read_items, shuffled
from lengthwise.marking.marks import expected_interval_score
from lengthwise.reconciliation import reconcile
from lengthwise.reconciliation.posterior import Posterior
from scipy.stats import norm


def case(*records, **context):
    evidence = Evidence(
        tooth="13",
        canal="single",
        reference_point="cusp tip",
        context=Context(crown="intact", **context),
        records=records,
    )
    return GradedCase(evidence, target_mm=0.5, foramen_mm=25.4, trap="none")


SOUND = case(
    ElectronicReading(foramen_signal_mm=25.0),
    PointTrial(length_mm=25.0, contact_s=1.0, wet_mm=0.0, ran_freely=True),
    PointTrial(length_mm=25.5, contact_s=1.0, wet_mm=0.5, ran_freely=True),
)
OPEN = case(
    ElectronicReading(foramen_signal_mm=22.0),
    WorkingFilm(file_length_mm=25.0, tip_short_of_radiographic_apex_mm=2.0),
)
BEST = reconcile(SOUND.evidence)


def determined(off_mm=0.0, low=None, high=None, **more):
    best_low, best_high = BEST.interval_mm()
    return Determination(
        BEST.foramen_mm, BEST.working_length_mm + off_mm, low or best_low, high or best_high, **more
    )


@pytest.mark.parametrize(
    ("off_mm", "share"),
    # by hand from the rule: full from -0.5 to +0.25, linear to zero at -1.0 and +0.5
    [
        (0.0, 1.0),
        (-0.5, 1.0),
        (0.25, 1.0),
        (-0.75, 0.5),
        (-0.6, 0.8),
        (-1.0, 0.0),
        (-3.0, 0.0),
        (0.375, 0.5),
        (0.5, 0.0),
        (2.0, 0.0),
    ],
)
def test_the_length_earns_by_its_distance_from_the_recommendation(off_mm, share):
    marks = mark(determined(off_mm), SOUND)
    assert marks.length_share == pytest.approx(share)
    assert marks.share == pytest.approx((share + 1) / 2, abs=1e-6)


def test_the_best_interval_earns_everything_and_no_other_more():
    low, high = BEST.interval_mm()
    best = expected_interval_score(BEST.posterior, low, high)
    for a in np.linspace(-0.4, 0.4, 9):
        for b in np.linspace(-0.4, 0.4, 9):
            assert expected_interval_score(BEST.posterior, low + a, high + b) >= best - 1e-4
    assert mark(determined(), SOUND).interval_share == pytest.approx(1.0)


def test_the_interval_score_is_the_published_one_for_a_normal_posterior():
    # Gneiting & Raftery 2007, eq. 43: (u - l) + 2/α (l - x)⁺ + 2/α (x - u)⁺; for x ~ N(0, 1) its
    # expectation has the closed form below (E(x - u)⁺ = φ(u) - u (1 - Φ(u)))
    grid_mm = np.arange(-8, 8, 0.001)
    normal = Posterior(grid_mm, norm.pdf(grid_mm), 0.0)

    for low, high in ((-1.645, 1.645), (-0.5, 0.5), (0.3, 2.0)):
        above = norm.pdf(high) - high * norm.sf(high)
        below = norm.pdf(low) + low * norm.cdf(low)
        expected = high - low + 20 * (above + below)
        assert expected_interval_score(normal, low, high) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("field", ["foramen_mm", "working_length_mm", "low_mm", "high_mm"])
@pytest.mark.parametrize("not_finite", [float("nan"), float("inf")])
def test_a_length_that_is_no_finite_number_is_refused_and_earns_no_share(field, not_finite):
    answer = {"foramen_mm": 25.0, "working_length_mm": 24.75, "low_mm": 24.5, "high_mm": 25.8}
    with pytest.raises(ValueError, match=rf"field {field}: got (nan|inf); allowed is a finite"):
        Determination(**{**answer, field: not_finite})


def test_the_search_for_traces_of_a_kind_that_no_canal_gives_ends(monkeypatch):
    monkeypatch.setattr(meter_traces, "MOST_ROUNDS", 2)
    monkeypatch.setattr(meter_traces, "STEADY_FROM", 1.1)  # no trace is as usable as that
    rng = np.random.default_rng(1)
    with pytest.raises(RuntimeError, match=r"none of 24 canals of tooth 13 .* all steady"):
        meter_traces.traces_at([25.0], "13", "single", erratic=False, bloody=False, rng=rng)


def test_claiming_too_much_and_too_little_both_cost():
    sharp = mark(determined(low=BEST.foramen_mm - 0.02, high=BEST.foramen_mm + 0.02), SOUND)
    vague = mark(determined(low=20.0, high=31.0), SOUND)
    assert sharp.interval_share < 0.6
    assert vague.interval_share < 0.2
    assert "Right nine times in ten needs more room." in sharp.explanation
    assert "The evidence allows a narrower one." in vague.explanation


def test_not_yet_earns_where_no_length_should_be_taken():
    word = reconcile(OPEN.evidence).next_step.word
    assert word == "points"
    assert mark(Determination(next_step=word), OPEN).share == 1.0
    assert mark(Determination(next_step="reading"), OPEN).share == 0.5
    assert mark(Determination(24.0, 23.5, 23.0, 25.0), OPEN).share == 0.0
    assert mark(Determination(24.0, 23.5, 23.0, 25.0, next_step=word), OPEN).share == 0.0


def test_a_step_worth_nearly_as_much_as_the_best_earns_as_much():
    film = WorkingFilm(
        file_length_mm=25.0, tip_short_of_radiographic_apex_mm=0.7, technique="paralleling"
    )
    graded = case(film)
    step = reconcile(graded.evidence).next_step
    assert step.word == "points"
    assert step.also == ("reading",)
    best, near, far = (
        mark(Determination(next_step=word), graded) for word in ("points", "reading", "film")
    )
    assert (best.share, near.share, far.share) == (1.0, 1.0, 0.5)
    assert "are what the evidence asks for" in best.explanation
    assert "nearly as much as the best one (points): it earns in full" in near.explanation
    assert "The step that helps most here" in far.explanation


def test_not_yet_earns_nothing_where_a_length_can_be_taken():
    marks = mark(Determination(next_step="film"), SOUND)
    assert marks.share == 0.0
    assert "enough for a length" in marks.explanation


def test_a_step_that_could_hurt_earns_nothing():
    marks = mark(determined(next_step="longer"), SOUND)
    assert marks.share == 0.0
    assert marks.safety_failure
    assert "Safety" in marks.explanation


def test_a_blank_earns_nothing_and_half_an_answer_its_half():
    assert mark(Determination(), SOUND).share == 0.0
    only_length = Determination(working_length_mm=BEST.working_length_mm)
    assert mark(only_length, SOUND).share == 0.5
    low, high = BEST.interval_mm()
    assert mark(Determination(low_mm=low, high_mm=high), SOUND).share == pytest.approx(0.5)


def test_the_truth_never_enters_the_marks():
    other = GradedCase(SOUND.evidence, SOUND.target_mm, foramen_mm=31.0, trap="none")
    assert mark(determined(), other) == mark(determined(), SOUND)


def test_a_length_far_off_is_told_which_source_alone_would_have_led_there():
    graded = case(
        ElectronicReading(foramen_signal_mm=21.0),
        WorkingFilm(file_length_mm=25.0, tip_short_of_radiographic_apex_mm=1.2),
        PointTrial(length_mm=25.0, contact_s=1.0, wet_mm=0.0, ran_freely=True),
        PointTrial(length_mm=25.5, contact_s=1.0, wet_mm=0.7, ran_freely=True),
    )
    rows = {row.kind: row for row in reconcile(graded.evidence).sources}
    row = rows["electronic_reading"]
    length = row.implied_mm - graded.target_mm
    marks = mark(Determination(row.implied_mm, length, length, length + 1), graded)
    assert marks.explanation.startswith("**")  # the result first
    assert f"{row.name.capitalize()} alone would have led there" in marks.explanation
    assert "look as if" not in marks.explanation  # said once, over all answers


def test_nothing_but_the_result_is_said_of_a_right_answer():
    text = mark(determined(), SOUND).explanation
    assert text.startswith("**Length: right** (its half in full).")
    assert "look" not in text


def test_a_student_always_gets_the_same_cases_and_another_gets_others():
    def drawn(student):
        rng = student_generator(b"secret", "a6_reconcile", student)
        return draw_assignment("a6_reconcile", target_mm=0.5, rng=rng)

    first, again, other = drawn("student-01"), drawn("student-01"), drawn("student-02")
    assert first == again
    assert first["q1"].evidence != other["q1"].evidence
    assert GradedCase.from_json(first["q2"].to_json()) == first["q2"]


def by_kind(cases):
    return {one.trap.split(":")[0]: one for one in cases.values()}


def test_every_kind_of_case_of_a6_is_what_it_says():
    for number in range(6):
        rng = student_generator(b"another", "a6_reconcile", f"student-{number}")
        cases = draw_assignment("a6_reconcile", target_mm=0.5, rng=rng)
        found = by_kind(cases)
        plain, odd, undecided = (
            reconcile(found[kind].evidence)
            for kind in (a6_cases.PLAIN, a6_cases.ODD_ONE, a6_cases.NOT_YET)
        )
        assert plain.working_length_mm is not None
        assert odd.working_length_mm is not None
        assert undecided.working_length_mm is None
        by_mean = np.mean(list(implied_lengths_mm(odd.evidence).values())) - 0.5
        assert abs(by_mean - odd.working_length_mm) >= 0.8
        assert sorted(cases) == ["q1", "q2", "q3"]
        assert len({one.evidence.tooth for one in cases.values()}) == 3


def test_where_not_yet_stands_is_different_from_student_to_student(monkeypatch):
    """All six orders, each about as often: one student cannot tell another."""
    monkeypatch.setattr(a6_cases, "_draw", lambda *all_of_it: all_of_it[5])
    drawn = [a6_cases.draw_cases(0.5, student_generator(b"s", "a6", str(n))) for n in range(600)]
    seen = Counter(tuple(trap.split(":")[0] for trap in one.values()) for one in drawn)
    assert len(seen) == 6
    assert min(seen.values()) > 70  # 100 each expected, standard deviation 9


def test_an_unknown_assignment_is_refused():
    with pytest.raises(ValueError, match=r"field assignment: got 'a9'.*a6_reconcile"):
        draw_assignment("a9", target_mm=0.5, rng=np.random.default_rng(1))


ITEM = Item(
    "i1",
    "Which?",
    (
        Option("this", True, None, "Yes: because."),
        Option("that", False, "M7", "Look again at the mean."),
        Option("neither", False, "M1", "Look again at the trace."),
    ),
)


def test_an_item_is_marked_by_the_option_behind_the_letter():
    item = ShuffledItem(ITEM, (2, 0, 1))
    assert mark_item(item, "B").share == 1.0
    assert mark_item(item, "b ").share == 1.0
    assert mark_item(item, "A").share == 0.0
    assert "Look again at the trace." in mark_item(item, "A").explanation
    assert mark_item(item, None).share == 0.0
    assert "A, B, C" in mark_item(item, "D").explanation


def test_a_wrong_option_may_be_a_slip_and_then_shows_no_belief(tmp_path):
    path = tmp_path / "items.toml"
    path.write_text(
        '[items.i1]\nstem = "?"\noptions = [{text = "a", feedback = "b", misconception = ""}, '
        '{text = "c", feedback = "d", correct = true}]\n'
    )
    item = read_items(path)["i1"]
    (clue,) = mark_item(ShuffledItem(item, (0, 1)), "A").clues
    assert (clue.careful, clue.believed, clue.seen) == (0.0, {}, {})
    stands_for = [row[1] for row in options_sheet("i1", item, ()).rows]
    assert stands_for == ["right", "a slip"]


def test_options_are_shuffled_and_none_is_lost():
    rng = np.random.default_rng(2)
    orders = {shuffled(ITEM, rng).order for _ in range(60)}
    assert len(orders) == 6
    assert all(sorted(order) == [0, 1, 2] for order in orders)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[items.i1]\nstem = ""\n', "item i1, field stem: missing"),
        ('[items.i1]\nstem = "?"\noptions = []\n', "item i1, field options"),
        (
            '[items.i1]\nstem = "?"\noptions = [{text = "a", feedback = "b"}, {text = "c", '
            'feedback = "d", correct = true}]\n',
            "option 1, field misconception: missing",
        ),
        (
            '[items.i1]\nstem = "?"\noptions = [{text = "a", feedback = "b", correct = true}, '
            '{text = "c", feedback = "d", correct = true}]\n',
            "2 options are right",
        ),
    ],
)
def test_a_bad_item_is_named(text, words, tmp_path):
    path = tmp_path / "items.toml"
    path.write_text(text)
    with pytest.raises(ValueError, match=words):
        read_items(path)


def test_a_length_beside_a_step_before_any_length_is_told_as_a_contradiction():
    said = "contradict each other: the length counts"
    assert said in mark(determined(next_step="film"), SOUND).explanation
    assert said not in mark(determined(next_step="confirm"), SOUND).explanation


@pytest.mark.filterwarnings("error")
def test_lengths_far_from_everything_name_no_belief():
    """Their densities are too small to be multiplied; two weak answers add nothing to decide on."""
    short = case(
        ElectronicReading(foramen_signal_mm=21.0),
        PointTrial(length_mm=21.0, contact_s=1.0, wet_mm=0.0, ran_freely=True),
        PointTrial(length_mm=21.5, contact_s=1.0, wet_mm=0.5, ran_freely=True),
    )
    marks = mark(Determination(working_length_mm=45.0), short)
    assert np.prod([clue.erratic for clue in marks.clues * 5]) == 0.0
    far = [(f"q{n}", clue) for n in range(1, 6) for clue in marks.clues]
    weak = Clue(0.1, 0.25, {"M1": 0.5}, {"M1": "a little like it"})
    little = [("i1", weak), ("i2", weak)]
    assert named_in([*far, *little]) == named_in(little) == ()
