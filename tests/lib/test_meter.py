"""The meter on the bench: what it shows follows the physics, and what it cannot do is refused."""

from dataclasses import fields, replace

import numpy as np
import pytest
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_state import is_bloody
from lengthwise.bench.meter import Meter, all_meters, draw_traces, read_motion
from lengthwise.bench.meter_conditions import ReadingConditions, conditions_now, draw_conditions
from lengthwise.bench.meter_line import line_shapes
from lengthwise.bench.meter_motion import Motion, default_motion, motion_through
from lengthwise.bench.patient import Patient
from lengthwise.bench.point_actions import Rinse
from lengthwise.physics.impedance import furthest_past_mm, impedance_ohm, quotient
from lengthwise.physics.line import File, Filling, Materials
from lengthwise.reconciliation.trace_signs import numbers_of
from lengthwise.reference import electrical as e
from lengthwise.reference import meter as m
from lengthwise.reference import points as p
from lengthwise.reference.electrical_draws import electrical_draws
from pydantic import ValidationError

N = 40
CANALS = draw_canals("13", N, np.random.default_rng(21))
QUIET = ReadingConditions()
# Slow enough for the lag to be nothing: a sample every ten seconds.
DEPTHS_PAST = np.arange(-4.0, 0.61, 0.2)


def meters():
    return all_meters().some(np.arange(N) % len(all_meters().curve))


def canal(i):
    return CANALS.some(i)


def creep(i, conditions, *, seed=1, **options):
    """Indicated values at DEPTHS_PAST in canal i, far slower than the display."""
    motion = Motion(10.0 * np.arange(DEPTHS_PAST.size), CANALS.foramen_mm[i] + DEPTHS_PAST)
    rng = np.random.default_rng(seed)
    return read_motion(
        canal(i), motion, conditions, rng, file_size=8, meter=meters().some(i), **options
    ).indicated[0]


def test_a_reading_shows_what_the_line_and_the_curve_say_of_each_place():
    """The grid, its straight lines and its coarser cells against the line at each place itself."""
    apart = []
    for i in range(0, N, 4):
        meter = meters().some(i)
        z = impedance_ohm(
            line_shapes(canal(i), shaped=False), File(0.08), Filling(e.SALINE_OHM_M.value),
            meter.materials, DEPTHS_PAST,
        )  # fmt: skip
        exact = meter.curve.indicated(quotient(z))[0]
        ramp = (np.abs(exact) < 1.0) & (exact > meter.curve.past_end_mm + 0.05)
        apart.append((creep(i, QUIET) - exact)[ramp])
    apart = np.concatenate(apart)
    assert apart.size > 30
    assert abs(np.median(apart)) < 0.02
    assert np.quantile(np.abs(apart), 0.95) < 0.1  # the quotient's noise is in it


def test_every_draw_of_the_calibration_makes_a_meter_whose_scale_goes_through_the_foramen():
    curve = all_meters().curve
    assert len(curve) == len(electrical_draws())
    assert np.all(curve.past_end_mm < 0)
    assert np.all(curve.short_end_mm > 1.0)


def test_a_flat_curve_jumps():
    """The same noise of the quotient makes the display restless far from the foramen."""
    motion = Motion(0.1 * np.arange(200), np.zeros(200))
    spreads = {}
    for short in (0.0, 2.5):
        at = replace(motion, depth_mm=np.full(200, CANALS.foramen_mm.min() - short))
        one = [
            replace(at, depth_mm=np.full(200, CANALS.foramen_mm[i] - short)) for i in range(0, N, 4)
        ]
        shown = [
            read_motion(
                canal(4 * k), each, QUIET, np.random.default_rng(k), file_size=8,
                meter=meters().some(4 * k),
            ).indicated.std()
            for k, each in enumerate(one)
        ]  # fmt: skip
        spreads[short] = np.median(shown)
    assert spreads[2.5] > 3 * spreads[0.0]


def test_the_display_lags_behind_a_hand():
    """Going in the signal comes deeper than going out, by about lag times speed each way."""
    motion, still, apart = default_motion(25.0), replace(QUIET, noise=1e-6), []
    for i in range(0, N, 2):
        own = replace(motion, depth_mm=motion.depth_mm - 25.0 + CANALS.foramen_mm[i] + 1.0)
        trace = read_motion(
            canal(i), own, still, np.random.default_rng(i), file_size=8, meter=meters().some(i)
        )
        signals = numbers_of(trace.time_s[0], trace.depth_mm[0], trace.indicated[0])
        if signals.came_mm.size and signals.went_mm.size:
            apart.append(np.median(signals.came_mm) - np.median(signals.went_mm))
    speed = m.STEP_MM.value * 10.0
    assert len(apart) > 8
    assert np.median(apart) == pytest.approx(2 * m.LAG_S.value * speed, abs=0.1)


def test_a_metal_contact_brings_the_signal_early_and_a_leak_brings_it_late():
    """models.md, behaviour 4: counted over canals and draws of the calibration."""
    touch = replace(QUIET, contact_ohm=100.0, contact_mm2=0.5, touches_per_s=1e6, parts_per_s=1e-6)
    leak = replace(QUIET, leak_ohm=3000.0)
    early = late = count = 0
    for i in range(0, N, 2):
        plain, touched, leaking = (creep(i, each) for each in (QUIET, touch, leak))
        ramp = (plain > -0.3) & (plain < 1.0)
        count += ramp.any()
        early += ramp.any() and np.median((touched - plain)[ramp]) < -0.1
        late += ramp.any() and np.median((leaking - plain)[ramp]) > 0.1
    assert count > 12
    assert late >= 0.9 * count
    assert early >= 0.9 * count


def test_a_contact_that_comes_and_goes_makes_jumps_and_a_lost_clip_shows_nothing():
    flicker = replace(QUIET, contact_ohm=100.0, contact_mm2=0.5, touches_per_s=1.0, parts_per_s=1.0)
    lost = replace(QUIET, loses_per_s=3.0)
    rng = np.random.default_rng(4)
    steady, jumpy, gaps = (
        draw_traces(CANALS, rng, conditions=each, file_size=8, meter=meters())
        for each in (QUIET, flicker, lost)
    )

    def jumps(traces):
        near = traces.indicated[:, 1:] < 1.5  # further away the curve is flat
        return np.mean(np.abs(np.diff(traces.indicated, axis=1))[near] > 0.4)

    assert jumps(jumpy) > 3 * jumps(steady)
    there = np.isfinite(gaps.depth_mm)
    assert 0.3 < np.isnan(gaps.indicated[there]).mean() < 0.7
    assert not np.isnan(steady.indicated[np.isfinite(steady.depth_mm)]).any()
    assert None in gaps.record(0).indicated


def test_the_hand_turns_soon_after_the_signal_and_gives_it_up_on_the_way_back():
    traces = draw_traces(
        CANALS, np.random.default_rng(3), conditions=QUIET, file_size=8, meter=meters()
    )
    reached = (traces.indicated <= 0).any(axis=1)
    assert reached.mean() > 0.6
    further, given_up = [], []
    for i in np.flatnonzero(reached):
        record = traces.record(i)
        depth, shown = np.array(record.depth_mm), np.array(record.indicated)
        further.append(depth.max() - depth[np.argmax(shown <= 0)])
        given_up.append(shown[-1] > 0)
    assert np.median(further) < 0.2
    assert np.mean(given_up) > 0.9


def test_what_is_shown_stays_between_the_ends_of_the_curve():
    traces = draw_traces(CANALS, np.random.default_rng(6), meter=meters())
    curve = meters().curve
    with np.errstate(invalid="ignore"):
        assert not np.any(traces.indicated < curve.past_end_mm[:, None])
        assert not np.any(traces.indicated > curve.short_end_mm[:, None])


def test_a_file_wider_than_the_constriction_stops_where_it_binds():
    size = 60
    stops = furthest_past_mm(line_shapes(CANALS, shaped=False), File(size / 100))
    i = int(np.flatnonzero((stops < -0.5) & (stops > -6))[0])
    stop_mm = CANALS.foramen_mm[i] + stops[i]
    traces = read_motion(
        canal(i), default_motion(stop_mm + 2.0), QUIET, np.random.default_rng(1), file_size=size
    )
    assert traces.depth_mm.max() == pytest.approx(stop_mm, abs=4 * m.STOP_SD_MM.value)
    with pytest.raises(ValueError, match=r"field depth_mm: .*binds.*allowed.*thinner"):
        read_motion(
            canal(i), motion_through([stop_mm + 0.5, stop_mm]), QUIET, np.random.default_rng(1),
            file_size=size,
        )  # fmt: skip


def test_a_place_above_the_orifice_is_refused():
    with pytest.raises(ValueError, match=r"field depth_mm: .*above the orifice.*allowed"):
        Patient("13", np.random.default_rng(1)).advance_file([2.0, 3.0])


@pytest.mark.parametrize(
    ("time", "depth", "words"),
    [
        ([0.0, 0.2, 0.1], [20.0, 21.0, 22.0], "sort"),
        ([0.0, 0.1], [20.0], "one length"),
        ([0.0], [20.0], "2 samples"),
        ([0.0, 0.1], [20.0, np.nan], "missing"),
        ([0.0, 0.1, 60.1], [20.0, 20.1, 20.1], "even ones"),
    ],
)
def test_a_motion_that_is_none_is_refused(time, depth, words):
    with pytest.raises(ValueError, match=f"field time_s.*{words}"):
        Motion(np.array(time), np.array(depth))


def test_moments_rounded_to_hundredths_are_even():
    assert Motion(np.round(np.arange(90) / 15, 2), np.zeros(90)).time_s.size == 90


def test_a_motion_that_begins_past_its_end_is_refused():
    with pytest.raises(ValueError, match="field from_mm: got 26; allowed is less than 25"):
        default_motion(25.0, from_mm=26.0)


def test_no_canals_are_none_to_read():
    none = CANALS.some([])
    assert len(none) == 0
    with pytest.raises(ValueError, match="field canals: got none"):
        draw_traces(none, np.random.default_rng(1))


def test_what_stands_for_everybody_goes_on_doing_so():
    one = all_meters().some([3])
    assert len(one.some([0, 1, 2]).curve) == 1
    mixed = Meter(Materials(body_ohm=np.array([200.0, 300.0])), one.curve).some([1, 0])
    assert np.asarray(mixed.materials.body_ohm).tolist() == [300.0, 200.0]


def test_a_list_of_flags_takes_those_that_are_true():
    two = all_meters().some([3, 7])
    assert np.array_equal(two.some([False, True]).curve.quotient, two.some([1]).curve.quotient)


def test_a_meter_for_another_number_of_canals_is_refused():
    rng, told = np.random.default_rng(1), f"field meter: got one of 3 rows for {N} canals"
    three = all_meters().some([0, 1, 2])
    with pytest.raises(ValueError, match=told):
        draw_traces(CANALS, rng, meter=three)
    with pytest.raises(ValueError, match=told):
        read_motion(CANALS, default_motion(22.0), QUIET, rng, meter=three)


def test_a_file_that_does_not_go_in_at_all_is_refused_by_its_size():
    rng, told = np.random.default_rng(1), "field file_size: got 140 for canal 0.*thinner"
    with pytest.raises(ValueError, match=told):
        draw_traces(CANALS, rng, file_size=140)
    with pytest.raises(ValueError, match=told):
        read_motion(CANALS, default_motion(22.0), QUIET, rng, file_size=140)


@pytest.mark.parametrize(
    ("field", "value", "allowed"),
    [
        ("blood_share", 2.0, "0 or more, 1 at most"),
        ("noise", -1.0, "0 or more, not infinite"),
        ("parts_per_s", 0.0, "above 0, not infinite"),
        ("contact_ohm", np.inf, "above 0, not infinite"),
        ("leak_ohm", 0.0, "above 0, infinite too"),
        ("level_mm", [1.0, np.nan], "0 or more, infinite too"),
    ],
)
def test_conditions_that_cannot_be_are_refused(field, value, allowed):
    with pytest.raises(ValueError, match=f"field {field}: got .*; allowed is {allowed}; leave it"):
        ReadingConditions(**{field: value})


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"file_size": 5}, "field file_size: got 5; allowed is a whole number from 6 to 140"),
        ({"file_size": 15.0}, "field file_size: got 15.0; allowed is a whole number from 6"),
        ({"file_size": True}, "field file_size: got True; allowed is a whole number from 6"),
        ({"file_size": "15"}, "field file_size: got '15'; allowed is a whole number from 6"),
        ({"file_size": None}, "field file_size: got None; allowed is a whole number from 6"),
        ({"stage": "foo"}, "field stage: got 'foo'; allowed are before_flare"),
        ({"motion": np.full(30_000, 20.0)}, "field motion: got 30000 samples; allowed are 2 to"),
    ],
)
def test_what_no_record_holds_is_refused_before_anything_is_done(asked, words):
    patient = Patient("13", np.random.default_rng(9))
    with pytest.raises(ValueError, match=words) as refused:
        patient.advance_file(**{"motion": default_motion(20.0), **asked})
    assert not isinstance(refused.value, ValidationError)
    assert patient.log == []


def test_conditions_of_another_number_of_canals_are_refused():
    with pytest.raises(ValueError, match=r"field level_mm: got shape .*match the canals"):
        draw_traces(CANALS, np.random.default_rng(1), conditions=ReadingConditions(level_mm=[1, 2]))


def test_a_file_that_no_canal_takes_is_refused_with_what_is_allowed():
    told = "got 120 for canal 0; allowed is a size that is thinner than this canal at its orifice"
    with pytest.raises(ValueError, match=told):
        draw_traces(CANALS, np.random.default_rng(1), file_size=120)


def test_conditions_lie_on_a_continuum():
    """No column has two heaps with nothing between."""
    drawn = draw_conditions(4000, np.random.default_rng(8))
    for field in fields(drawn):
        values = np.asarray(getattr(drawn, field.name))
        if np.ptp(values) == 0:
            assert field.name == "swings_per_s"
            continue
        assert widest_gap(values) < 0.03, field.name
    heaps = np.random.default_rng(8).normal([[0.0], [3.0]], 0.2, (2, 2000)).ravel()
    assert widest_gap(np.exp(heaps)) > 0.3


def widest_gap(values):
    """Between neighbours, as a share of where 96 of 100 logarithms lie."""
    logs = np.log(np.sort(values)[len(values) // 50 : -len(values) // 50])
    return np.diff(logs).max() / np.ptp(logs)


def test_a_patient_writes_down_the_file_the_stage_and_the_liquid_and_stays_the_same():
    one, two = (Patient("23", np.random.default_rng(9)) for _ in range(2))
    motion = default_motion(one.canal.foramen_mm + 0.3)
    first = one.advance_file(motion, file_size=10)
    assert first == two.advance_file(motion, file_size=10)
    assert (first.file_size, first.stage) == (10, "after_flare")
    assert first.liquid_in_canal is not None
    assert one.log == [first]
    before = one.meter_and_conditions
    one.advance_file(motion)
    assert one.meter_and_conditions is before


def test_a_reading_meets_the_liquid_that_is_in_the_canal():
    patient = Patient("13", np.random.default_rng(12))
    patient.act(Rinse())
    motion = default_motion(patient.canal.foramen_mm)
    assert patient.meter_and_conditions  # drawn, and not in the first reading

    def read():
        patient.rng = np.random.default_rng(5)  # whatever else disturbs it is the same each time
        return patient.advance_file(motion, file_size=8)

    full, again = read(), read()
    patient.dry(patient.canal.foramen_mm - 1.0, points=12)
    dried = read()
    assert full.liquid_in_canal in ("irrigant", "flooded", "blood")
    assert dried.liquid_in_canal in ("dry", "moist", "blood")
    assert full == again
    shown = np.array([[np.nan if v is None else v for v in one.indicated] for one in (full, dried)])
    assert np.nanmax(np.abs(np.diff(shown, axis=0))) > 0.2


def test_living_tissue_that_bled_out_is_no_blood_in_the_liquid_that_stands_free():
    """It is red on a point that meets it: a named assumption keeps the two apart."""
    state = replace(
        Patient("13", np.random.default_rng(12)).state, remnant_mm=1.5, cause="tissue_remnant"
    )
    for bleeding, share in (("none", p.BLOOD_FROM_A_REMNANT.value), ("oozing", 1.0)):
        now = replace(state, bleeding=bleeding)
        assert is_bloody(now)
        assert conditions_now(QUIET, now).blood_share == share
