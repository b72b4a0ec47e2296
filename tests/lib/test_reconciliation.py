"""What the reconciliation promises, as laws and limiting cases."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lengthwise.evidence import (
    Context,
    ElectronicReading,
    Evidence,
    PointTrial,
    PreoperativeFilm,
    TactileStop,
    WorkingFilm,
)
from lengthwise.reconciliation import (
    Loss,
    paper,
    paper_trials,
    reading,
    reconcile,
    reconcile_many,
    reconcile_sources,
    sources_of,
)
from lengthwise.reconciliation.apex import film_bias_mm
from lengthwise.reconciliation.decision import expected_loss, settable_lengths_mm
from lengthwise.reconciliation.next_actions import weigh_actions
from lengthwise.reconciliation.offsets import FLOOR_NATS
from lengthwise.reconciliation.result_view import ASK_WHY_EARLY
from lengthwise.reference import constants as c
from lengthwise.reference import readings
from lengthwise.reference.tables import apex_distance
from scipy.stats import gamma

DRY = PointTrial(length_mm=25.0, contact_s=1.0, wet_mm=0.0, ran_freely=True)
WET = PointTrial(length_mm=25.5, contact_s=1.0, wet_mm=0.6, ran_freely=True)
FILM = WorkingFilm(
    file_length_mm=25.0, tip_short_of_radiographic_apex_mm=1.0, technique="paralleling"
)
SIGNAL = ElectronicReading(foramen_signal_mm=25.2)


def by_records(evidence):
    """What the records say alone: every length as likely beforehand."""
    return reconcile_sources(evidence, [sources_of(evidence)[1:]])[0]


def case(*records, tooth="13", canal="single", **context):
    return Evidence(
        tooth=tooth,
        canal=canal,
        reference_point="cusp tip",
        context=Context(**{"crown": "intact", **context}),
        records=records,
    )


def test_repeats_do_not_shrink_what_a_canal_shares():
    one = by_records(case(DRY, WET))
    many = by_records(case(*[DRY, WET] * 20))
    assert many.foramen_sd_mm < one.foramen_sd_mm
    assert many.foramen_sd_mm > c.PAPER_BETWEEN_CANALS_SD_MM.value


def test_two_radiographs_share_the_distance_from_foramen_to_apex():
    many = by_records(case(*[FILM] * 100, tooth="16", canal="P"))
    spread = apex_distance("16")  # a gamma distribution, cut at 3 mm
    shape = (spread.mean_mm / spread.sd_mm) ** 2
    share = gamma(shape, scale=spread.mean_mm / shape)
    between = {"lb": 0.0, "ub": 3.0, "conditional": True}
    mean = share.expect(lambda x: x, **between)
    variance = share.expect(lambda x: (x - mean) ** 2, **between)
    assert many.foramen_sd_mm == pytest.approx(variance**0.5, rel=0.01)


def test_repeated_readings_share_their_offset():
    many = by_records(case(*[SIGNAL] * 30))
    assert many.foramen_sd_mm > readings.BETWEEN_CANALS_SD_MM.value


def test_probabilities_of_a_trial_sum_to_one():
    marks = np.arange(0.005, 12.0, 0.01)
    landmark = np.array([[24.6]])
    for length in (24.0, 24.6, 25.5):
        for spread in (c.PLACEMENT_SD_MM.value, 0.5):
            total = 0.0
            for some in np.split(marks, 12):
                wet = [_trial(length, mark) for mark in some]
                table = paper_trials.trial_table([sources_of(case(*wet))])
                x = np.full((len(some), 1), landmark)
                total += np.exp(paper.log_wet(x, table, spread, 0)).sum() * 0.01
            dry = paper_trials.trial_table([sources_of(case(_trial(length, 0.0)))])
            total += float(np.exp(paper_trials.log_dry(landmark, dry, spread))[0, 0])
            assert total == pytest.approx(1.0, abs=2e-3)


def _trial(length_mm, mark_mm):
    return PointTrial(length_mm=length_mm, contact_s=1.0, wet_mm=mark_mm, ran_freely=True)


def test_the_likelihood_of_a_signal_integrates_to_one():
    landmark = np.array([[25.0]])
    total = 0.0
    for depth in np.arange(10.0, 40.0, 0.02):
        signal = ElectronicReading(foramen_signal_mm=float(depth))
        table = reading.signal_table([sources_of(case(signal))])
        total += float(np.exp(reading.reading_log_likelihood(table, landmark))[0, 0]) * 0.02
    assert total == pytest.approx(1.0, abs=1e-3)


def test_no_evidence_gives_the_average_tooth_and_asks_for_a_film():
    result = reconcile(case())
    assert 25.0 < result.foramen_mm < 27.0
    assert result.foramen_sd_mm > 2.0
    assert result.working_length_mm is None
    assert result.next_step.word == "film"


@pytest.mark.parametrize(
    "record",
    [FILM, SIGNAL, DRY, WET, TactileStop(length_mm=25.0), PreoperativeFilm(tooth_length_mm=27.0)],
    ids=lambda record: record.kind,
)
def test_a_single_source_gives_an_honest_width(record):
    result = reconcile(case(record))
    low, high = result.interval_mm()
    assert low < result.foramen_mm < high
    assert 0.3 < high - low < 9.0
    assert np.isfinite(result.density_per_mm).all()


def test_the_odd_one_out_is_believed_less_than_a_mean_would():
    odd = WorkingFilm(
        file_length_mm=25.0, tip_short_of_radiographic_apex_mm=4.5, technique="paralleling"
    )
    result = reconcile(case(SIGNAL, DRY, WET, odd))
    film = next(row for row in result.sources if row.kind == "working_film")
    assert film.trust < 0.1
    assert abs(film.residual) > 3
    assert result.foramen_mm < 26.0  # the mean of what they say is 26.6
    assert "does not believe: working radiograph" in result.sentence


def test_a_far_too_early_signal_is_not_outvoted_without_asking_why():
    outvoted = reconcile(case(FILM, ElectronicReading(foramen_signal_mm=22.0), DRY, WET))
    assert outvoted.next_step.word == "confirm"
    assert ASK_WHY_EARLY in outvoted.sentence
    agreeing = reconcile(case(FILM, SIGNAL, DRY, WET))
    assert ASK_WHY_EARLY not in agreeing.sentence


def test_absurd_contradiction_stays_finite_and_takes_no_length():
    early = ElectronicReading(foramen_signal_mm=15.0)
    late = WorkingFilm(file_length_mm=34.0, tip_short_of_radiographic_apex_mm=0.0)
    evidence = case(early, late)
    certain = tuple(source.distrusted(1.0) for source in sources_of(evidence))
    for result in (reconcile(evidence), reconcile_sources(evidence, [certain])[0]):
        assert np.isfinite(result.density_per_mm).all()
        assert result.density_per_mm.sum() * 0.01 == pytest.approx(1.0)
    assert reconcile(evidence).working_length_mm is None
    assert FLOOR_NATS < 745  # exp(-745) is the smallest double: below it nothing can be compared


def test_two_sources_in_conflict_are_settled_by_a_third():
    early = ElectronicReading(foramen_signal_mm=22.5)
    alone = reconcile(case(early, FILM))
    settled = reconcile(case(early, FILM, DRY, WET))
    assert alone.working_length_mm is None
    assert settled.working_length_mm is not None
    trust = {row.kind: row.trust for row in settled.sources}
    assert trust["electronic_reading"] < 0.2 < 0.9 < trust["working_film"]


@pytest.mark.parametrize(
    ("crown", "least", "most"),
    [
        ("worn", c.WORN_LEAST_MM.value, c.WORN_MOST_MM.value),
        ("prepared", c.PREPARED_LEAST_MM.value, c.PREPARED_MOST_MM.value),
    ],
)
def test_a_lowered_crown_shortens_what_the_average_says_and_widens_it(crown, least, most):
    """Where the tooth is one of the table's (trust 1): a sum of two independent amounts."""
    whole, lowered = (
        reconcile_sources(it, [(sources_of(it)[0].distrusted(1.0),)])[0]
        for it in (case(), case(crown=crown))
    )
    assert whole.foramen_mm - lowered.foramen_mm == pytest.approx((least + most) / 2, abs=0.003)
    variance = lowered.foramen_sd_mm**2 - whole.foramen_sd_mm**2
    assert variance == pytest.approx((most - least) ** 2 / 12, abs=0.005)


def test_a_lowered_crown_is_trusted_less_to_be_one_of_the_table():
    trusts = [sources_of(case(crown=crown))[0].trust for crown in ("intact", "worn", "prepared")]
    assert trusts == sorted(trusts, reverse=True)
    assert len(set(trusts)) == 3


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("apex", "immature"),
        ("apex", "resorbed"),
        ("obstruction", "block"),
        ("obstruction", "filling"),
        ("communication", "perforation_suspected"),
    ],
)
def test_outside_its_scope_it_asks_whatever_the_sources_say(field, value):
    result = reconcile(case(DRY, WET, SIGNAL, FILM, **{field: value}))
    assert result.working_length_mm is None
    assert result.next_step.word == "ask"
    assert result.sentence.startswith("Not with these sources")


def test_a_wet_side_tells_no_length_and_stops():
    side = PointTrial(length_mm=22.0, contact_s=1.0, wet_mm=3.0, mark_site="side")
    with_side = reconcile(case(DRY, WET, SIGNAL, FILM, side))
    without = reconcile(case(DRY, WET, SIGNAL, FILM))
    assert with_side.foramen_mm == pytest.approx(without.foramen_mm)
    assert with_side.next_step.word == "ask"
    assert without.next_step.word == "confirm"


def test_a_dry_point_says_nothing_about_how_far_beyond():
    dry = by_records(case(DRY))
    assert dry.probability_past(24.0) < 0.1
    assert dry.interval_mm()[1] > 35.0


def test_a_point_that_binds_is_not_taken_for_a_dry_one():
    bound = DRY.model_copy(update={"ran_freely": False, "length_mm": 27.0})
    free = DRY.model_copy(update={"length_mm": 27.0})
    signal = ElectronicReading(foramen_signal_mm=25.0)
    assert reconcile(case(signal, bound)).foramen_mm < reconcile(case(signal, free)).foramen_mm


def test_a_long_contact_does_not_move_the_answer_by_what_it_wicks():
    brief = by_records(case(DRY, _wet(contact_s=1.0, wet_mm=0.6)))
    long = by_records(case(DRY, _wet(contact_s=5.0, wet_mm=1.2)))
    assert abs(long.foramen_mm - brief.foramen_mm) < 0.2  # its mark is 0.6 mm longer
    assert long.foramen_sd_mm >= brief.foramen_sd_mm


def _wet(**changes):
    return WET.model_copy(update=changes)


def test_a_moist_canal_is_trusted_less():
    moist = [r.model_copy(update={"liquid_in_canal": "moist"}) for r in (DRY, WET)]
    assert reconcile(case(*moist)).foramen_sd_mm > reconcile(case(DRY, WET)).foramen_sd_mm


def test_lengths_from_before_shaping_are_shortened():
    before = SIGNAL.model_copy(update={"stage": "before_flare"})
    dry, wet = (r.model_copy(update={"stage": "after_shaping"}) for r in (DRY, WET))
    now = SIGNAL.model_copy(update={"stage": "after_shaping"})
    shifted, level = reconcile(case(before, dry, wet)), reconcile(case(now, dry, wet))
    assert 0.02 < level.foramen_mm - shifted.foramen_mm < 0.39
    alone, alone_now = reconcile(case(before)), reconcile(case(now))
    assert alone.foramen_mm == pytest.approx(alone_now.foramen_mm)  # nothing to compare with


def test_what_single_sources_and_the_others_say_is_of_the_canal_as_it_is_now():
    """A canal loses 0.39 mm until it is shaped; points that stay dry must not go by what it was."""
    dry = [
        DRY.model_copy(update={"length_mm": mm, "stage": "after_shaping"}) for mm in (24.0, 24.9)
    ]
    before, now = (
        reconcile(case(SIGNAL.model_copy(update={"stage": stage}), *dry))
        for stage in ("before_flare", "after_shaping")
    )
    told_before, told_now = (r.sources[1] for r in (before, now))
    assert told_now.implied_mm - told_before.implied_mm == pytest.approx(0.39, abs=0.01)
    assert now.next_step.sentence[:16] != before.next_step.sentence[:16] == "Do not go longer"
    kept = tuple(source for source in before.used if source.kind != "point_trial")
    (without,) = reconcile_sources(before.evidence, [kept])
    assert without.foramen_mm < reconcile(case(SIGNAL)).foramen_mm - 0.3


def test_marks_that_drift_after_the_last_drying_are_asked_about_whatever_came_before():
    sound = [r.model_copy(update={"visit": 1}) for r in (DRY, WET)]
    drifting = [
        WET.model_copy(update={"visit": 2, "length_mm": 25.0, "wet_mm": mark})
        for mark in (4.0, 3.3, 2.5)
    ]
    assert reconcile(case(*sound, SIGNAL)).next_step.word == "confirm"
    assert reconcile(case(*sound, SIGNAL, *drifting)).next_step.sentence.startswith("Not dry")


def test_a_gap_on_a_film_without_scale_is_known_the_less_the_longer_it_is():
    near, far = (
        WorkingFilm(file_length_mm=25.0 - gap, tip_short_of_radiographic_apex_mm=gap)
        for gap in (0.5, 12.0)
    )
    scaled = far.model_copy(update={"film_file_length_mm": 13.0 * 1.06})
    sd = [reconcile(case(film)).foramen_sd_mm for film in (near, far, scaled)]
    assert sd[1] > sd[0] + 0.1
    assert sd[2] == pytest.approx(sd[0], abs=0.03)


@pytest.mark.parametrize(
    ("changes", "confirms"),
    [
        ({}, True),
        ({"tip_short_of_radiographic_apex_mm": 0.2}, False),  # at the very end of the root
        ({"file_length_mm": 25.0, "tip_short_of_radiographic_apex_mm": 0.4}, True),
        ({"file_length_mm": 24.0, "tip_short_of_radiographic_apex_mm": 1.6}, False),
        ({"tip_short_of_radiographic_apex_mm": 3.6}, False),  # not believed, and inside
        ({"stage": "after_flare"}, False),  # a canal that has been shaped since is a shorter one
        ({"visit": 1}, False),
    ],
)
def test_a_radiograph_confirms_a_length_only_if_believed_and_of_a_file_there_and_inside(
    changes, confirms
):
    now = {"visit": 2, "stage": "after_shaping"}
    film = WorkingFilm(file_length_mm=24.75, tip_short_of_radiographic_apex_mm=0.8)
    others = [r.model_copy(update=now) for r in (SIGNAL, SIGNAL, DRY, WET, WET)]
    result = reconcile(case(*others, film.model_copy(update=now | changes)))
    assert result.working_length_mm == 24.75
    assert ("file at length: taken" in result.chart_line) == confirms
    assert ("file at length: still to come" in result.chart_line) != confirms
    believed = next(row.trust for row in result.sources if row.kind == "working_film") >= 0.5
    assert believed == (changes.get("tip_short_of_radiographic_apex_mm") != 3.6)


def test_readings_in_other_circumstances_do_not_answer_for_each_other():
    flooded = ElectronicReading(foramen_signal_mm=22.5, liquid_in_canal="flooded")
    moist = SIGNAL.model_copy(update={"liquid_in_canal": "moist"})
    names = [s.name for s in reconcile(case(FILM, moist, flooded, moist)).used]
    assert names[2:] == [
        "electronic reading, undisturbed", "electronic reading, flooded or bleeding"
    ]  # fmt: skip
    alone, both = reconcile(case(FILM, moist)), reconcile(case(FILM, flooded, moist))
    assert both.foramen_mm == pytest.approx(alone.foramen_mm, abs=0.1)
    assert both.foramen_sd_mm < alone.foramen_sd_mm + 0.02


def test_a_chart_names_one_place_of_the_foramen_only_with_a_length():
    sound, torn = reconcile(case(SIGNAL, DRY, WET)), reconcile(case(SIGNAL))
    beside = reconcile(case(SIGNAL, DRY, WET.model_copy(update={"mark_site": "side"})))
    assert "foramen estimated 25." in sound.chart_line
    low, high = torn.interval_mm()
    assert f"foramen between {low:.1f} and {high:.1f} mm" in torn.chart_line
    assert "foramen not to be told from these sources" in beside.chart_line


def test_marks_that_move_and_are_bloody_ask_for_what_bleeds():
    moving = [WET.model_copy(update={"wet_mm": m, "liquid": "blood"}) for m in (4.0, 3.3, 2.5)]
    assert "Look for what bleeds" in reconcile(case(SIGNAL, *moving)).next_step.sentence


def test_the_file_size_on_the_chart_is_of_a_file_that_went_to_the_length():
    stopped = TactileStop(length_mm=18.0, file_size=40)
    went = SIGNAL.model_copy(update={"file_size": 15})
    assert "file size at length 15" in reconcile(case(DRY, WET, went, stopped)).chart_line
    assert "at length not recorded" in reconcile(case(DRY, WET, SIGNAL, stopped)).chart_line


def test_an_offset_brings_another_reference_to_the_case():
    moved = DRY.model_copy(update={"length_mm": 23.0, "reference_offset_mm": 2.0})
    assert reconcile(case(moved, WET)).foramen_mm == pytest.approx(
        reconcile(case(DRY, WET)).foramen_mm
    )


def test_a_batch_gives_what_single_cases_give():
    cases = [
        case(DRY, WET),
        case(SIGNAL),
        case(),
        case(FILM, SIGNAL, DRY, WET, tooth="36", canal="D"),
    ]
    cases += [case(SIGNAL.model_copy(update={"stage": "before_flare"}), DRY, tooth="11")] * 3
    for together, evidence in zip(reconcile_many(cases), cases, strict=True):
        alone = reconcile(evidence)
        assert together.foramen_mm == pytest.approx(alone.foramen_mm, abs=1e-6)
        assert together.foramen_sd_mm == pytest.approx(alone.foramen_sd_mm, abs=1e-6)
        assert together.best_length_mm == alone.best_length_mm


def test_what_a_source_says_is_the_same_whichever_others_are_left_out_beside_it():
    evidence = case(FILM, SIGNAL, DRY, WET)
    used = sources_of(evidence)
    believed = tuple(source.distrusted(1.0) for source in used)
    choices = [used, believed, *[(*used[:i], *used[i + 1 :]) for i in range(len(used))], *zip(used)]
    together = reconcile_sources(evidence, choices)
    for choice, result in zip(choices, together, strict=True):
        (alone,) = reconcile_sources(evidence, [choice])
        np.testing.assert_allclose(result.foramen_mm, alone.foramen_mm, rtol=1e-12)
        np.testing.assert_allclose(
            result.posterior.log_evidence, alone.posterior.log_evidence, rtol=1e-9
        )


@settings(max_examples=15, deadline=None)
@given(st.floats(-6, 6).map(lambda value: round(value, 1)))
def test_lengths_moved_together_move_the_foramen_by_as_much(shift):
    records = [DRY, WET, SIGNAL]
    moved = []
    for record in records:
        name = "foramen_signal_mm" if record is SIGNAL else "length_mm"
        moved.append(record.model_copy(update={name: getattr(record, name) + shift}))
    here = by_records(case(*records))
    there = by_records(case(*moved))
    assert there.foramen_mm - here.foramen_mm == pytest.approx(shift, abs=2e-3)
    assert there.foramen_sd_mm == pytest.approx(here.foramen_sd_mm, abs=2e-3)


@settings(max_examples=15, deadline=None)
@given(st.permutations(["points", "points", SIGNAL, FILM, TactileStop(length_mm=24.0)]))
def test_the_order_of_kinds_does_not_matter(records):
    """Points keep their order among themselves: each wet one takes liquid out of the canal."""
    expected = reconcile(case(DRY, WET, SIGNAL, FILM, TactileStop(length_mm=24.0)))
    in_turn = iter((DRY, WET))
    mixed = [next(in_turn) if record == "points" else record for record in records]
    assert reconcile(case(*mixed)).foramen_mm == pytest.approx(expected.foramen_mm, abs=1e-9)


def test_intervals_hold_what_they_say():
    result = reconcile(case(DRY, WET, SIGNAL))
    for probability in (0.5, 0.8, 0.9, 0.95):
        low, high = result.interval_mm(probability)
        inside = result.probability_past(high) - result.probability_past(low)
        assert inside == pytest.approx(probability, abs=1e-9)
    with pytest.raises(ValueError, match="field probability: got 90"):
        result.interval_mm(90)


def test_no_settable_length_is_expected_to_cost_less():
    result = reconcile(case(DRY, WET, SIGNAL))
    lengths = settable_lengths_mm(result.posterior, result.loss)
    costs = expected_loss(result.posterior, result.loss, lengths)
    assert result.best_length_mm in lengths
    assert result.best_length_mm % 0.25 == 0
    best = expected_loss(result.posterior, result.loss, result.best_length_mm)[0]
    assert best == pytest.approx(costs.min(), abs=1e-12)
    fine = np.arange(lengths[0], lengths[-1], 0.01)
    cheapest = fine[expected_loss(result.posterior, result.loss, fine).argmin()]
    assert abs(cheapest - result.best_length_mm) <= 0.25


def test_near_a_nerve_no_length_is_longer_and_some_are_shorter():
    gaps = np.arange(0.0, 1.0, 0.05)
    films = [FILM.model_copy(update={"tip_short_of_radiographic_apex_mm": gap}) for gap in gaps]
    ordinary = reconcile_many([case(film) for film in films])
    near = reconcile_many([case(film, near_nerve_or_sinus=True) for film in films])
    shorter = [a.best_length_mm - b.best_length_mm for a, b in zip(ordinary, near, strict=True)]
    assert min(shorter) == 0.0
    assert max(shorter) == 0.25


def test_the_length_follows_the_school_s_target():
    here, shorter = (reconcile(case(DRY, WET), target_mm=target) for target in (0.5, 1.0))
    assert shorter.best_length_mm == here.best_length_mm - 0.5


def test_a_canal_that_the_tooth_does_not_have_is_refused():
    with pytest.raises(ValueError, match=r"canal 'MB' is not listed for tooth 13.*single"):
        reconcile(case(canal="MB"))


def test_a_target_that_no_school_teaches_is_refused():
    with pytest.raises(ValueError, match=r"field target_mm: got 5; allowed is 0 to 3"):
        reconcile(case(DRY), target_mm=5)
    with pytest.raises(ValueError, match="one of the two"):
        reconcile(case(DRY), target_mm=0.5, loss=Loss())


def test_the_result_reads_as_a_sentence_a_chart_line_and_a_table():
    result = reconcile(case(SIGNAL, DRY, WET, FILM))
    assert "The canal most likely ends at 25." in result.sentence
    assert "Suggested working length 24.75" in result.sentence
    assert result.chart_line.startswith(
        "tooth 13 (Universal 6) · canal single · reference cusp tip"
    )
    html = result._repr_html_()
    assert html.count('<th scope="row">') == len(result.sources) == 4


def test_blood_high_up_in_a_canal_is_no_length():
    """Marks of five to seven millimetres: a canal full of blood, whatever the marks agree on."""
    bloody = [
        PointTrial(length_mm=length, contact_s=1.0, wet_mm=mark, liquid="blood",
                   liquid_in_canal="blood", ran_freely=True)
        for length, mark in ((23.5, 5.0), (23.0, 5.5), (22.5, 6.0), (22.5, 6.5), (22.5, 7.0))
    ]  # fmt: skip
    film = PreoperativeFilm(tooth_length_mm=26.0, technique="paralleling")
    with_blood, film_alone = reconcile(case(film, *bloody)), reconcile(case(film))
    assert with_blood.next_step.word != "confirm"
    assert abs(with_blood.foramen_mm - film_alone.foramen_mm) < 0.3
    low, high = with_blood.interval_mm()
    assert low < film_alone.foramen_mm < high


def test_the_doubt_about_the_bias_of_films_does_not_shrink_when_films_are_repeated():
    film = FILM.model_copy(update={"technique": "bisecting"})
    _, doubt_mm = film_bias_mm("bisecting")
    sds = [by_records(case(*[film] * count)).foramen_sd_mm for count in (1, 3, 40)]
    assert sds[0] > sds[1] > sds[2] > np.hypot(doubt_mm, apex_distance("13").sd_mm * 0.8)


@pytest.mark.parametrize("count", [20, 80])
def test_many_readings_say_the_same_wherever_they_lie_between_two_points_of_the_grid(count):
    on, between = (
        reconcile(case(*[ElectronicReading(foramen_signal_mm=depth)] * count))
        for depth in (25.0, 25.025)
    )
    assert between.foramen_mm - on.foramen_mm == pytest.approx(0.025, abs=0.005)
    assert between.sources[1].trust == pytest.approx(on.sources[1].trust, abs=0.01)


def test_a_result_cannot_be_written_over_since_it_is_kept_and_handed_on():
    result = reconcile(case(SIGNAL))
    with pytest.raises(ValueError, match="read-only"):
        result.grid_mm[:] = 0.0
    with pytest.raises(ValueError, match="read-only"):
        reading.reading_offsets(0).weights[:] = 0.0


@pytest.mark.parametrize("probability", [-0.1, 1.5, [0.5, 2.0], float("nan")])
def test_a_probability_that_is_none_is_refused(probability):
    with pytest.raises(ValueError, match="field probability"):
        reconcile(case(SIGNAL)).quantile_mm(probability)


def test_a_source_with_a_trust_that_is_no_probability_is_refused():
    (_, source) = sources_of(case(SIGNAL))
    with pytest.raises(ValueError, match=r"field trust: got 1\.5"):
        replace(source, trust=1.5)
    with pytest.raises(ValueError, match="field traces: got 0 for 1 readings"):
        replace(source, traces=())


def test_a_cost_that_is_none_is_told_as_a_cost():
    with pytest.raises(ValueError, match=r"field past_per_mm: got -1; .* cost"):
        Loss(past_per_mm=-1.0)


def test_what_one_more_reading_is_worth_hangs_on_the_records_and_not_on_their_copies():
    evidence = case(FILM, SIGNAL)
    same = sources_of(Evidence.from_json(evidence.to_json()))
    posterior = reconcile(evidence).posterior
    own, copied = (
        weigh_actions(evidence, used, posterior, Loss()) for used in (sources_of(evidence), same)
    )
    assert own == copied


def test_a_source_that_speaks_alone_disagrees_with_nothing():
    (row,) = reconcile(case()).sources
    assert (row.residual, row.shift_without_mm) == (0.0, 0.0)
