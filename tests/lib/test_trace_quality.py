"""A trace is judged by what it shows; what shows nothing is not judged at all."""

import numpy as np
import pytest
from lengthwise.evidence import ElectronicReading
from lengthwise.evidence.records import MOST_SAMPLES
from lengthwise.reconciliation.sources import trust_with_trace
from lengthwise.reconciliation.trace_quality import assess_trace, features_of, usual_offset_mm
from lengthwise.reconciliation.trace_signs import numbers_of
from lengthwise.reference import readings
from lengthwise.reference.files import read_rows
from pydantic import ValidationError

DOWN, UP = np.arange(22.0, 25.36, 0.05), np.arange(25.3, 23.96, -0.05)
DEPTH = np.concatenate([DOWN, np.full(10, 25.35), UP, UP[::-1], np.full(10, 25.3), UP])


def trace(depth, shown, step_s=0.1):
    return ElectronicReading(
        time_s=tuple(step_s * i for i in range(len(depth))),
        depth_mm=tuple(float(d) for d in depth),
        indicated=tuple(None if s is None or np.isnan(s) else float(s) for s in shown),
    )


def ideal(signal=25.0, depth=DEPTH):
    return np.clip(signal - depth, -0.5, 3.0)


STEADY = assess_trace(trace(DEPTH, ideal()))


def test_a_steady_trace_is_usable_and_gives_its_depth():
    assert STEADY.usable > 0.8
    assert STEADY.signal_mm == pytest.approx(25.0, abs=0.02)
    assert STEADY.foramen_mm == pytest.approx(STEADY.signal_mm - usual_offset_mm())
    assert 0.2 < STEADY.foramen_sd_mm < 0.6
    assert all(sign.holds for sign in STEADY.signs)


def test_a_lag_cancels_between_coming_and_going():
    late = np.concatenate([ideal()[:1].repeat(3), ideal()[:-3]])  # three samples behind
    quality = assess_trace(trace(DEPTH, late))
    assert quality.signal_mm == pytest.approx(25.0, abs=0.02)


def test_a_jumping_trace_is_worth_less_and_its_signs_say_why():
    rng = np.random.default_rng(3)
    quality = assess_trace(trace(DEPTH, ideal() + rng.normal(0, 1.5, DEPTH.size)))
    assert quality.usable < STEADY.usable - 0.25
    assert not any(sign.holds for sign in quality.signs)
    assert "jumps" in quality.steady.sentence
    assert "apart" in quality.repeats.sentence


def test_no_wild_trace_is_trusted_more_than_it_deserves():
    """Noise that no simulated reading had, judged by outcome: not over-confident by a tenth."""
    rng = np.random.default_rng(11)
    for sd in (0.5, 1.5, 3.0):
        some = [
            assess_trace(trace(DEPTH, ideal() + rng.normal(0, sd, DEPTH.size))) for _ in range(60)
        ]
        right = [abs((q.signal_mm or 99.0) - 25.0) <= 0.5 for q in some]
        assert np.mean([q.usable for q in some]) < np.mean(right) + 0.1


def test_a_trace_that_wanders_while_the_file_rests_is_worth_less():
    shown = ideal()
    resting = np.flatnonzero(np.diff(DEPTH) == 0)
    shown[resting] += 0.6 * np.cos(np.pi * np.arange(resting.size))
    quality = assess_trace(trace(DEPTH, shown))
    assert not quality.follows.holds
    assert "without the file" in quality.follows.sentence
    assert quality.usable < STEADY.usable - 0.1


NO_REST = np.concatenate([DOWN, UP, UP[::-1][1:], UP[1:]])


def test_a_file_that_never_rests_is_not_said_to_have_stood_still():
    follows = assess_trace(trace(NO_REST, ideal(depth=NO_REST))).follows
    assert follows.sentence.endswith("the file was not seen to rest.")
    assert "stands still" in STEADY.follows.sentence


def test_a_trace_far_from_the_signal_is_not_said_to_advance_or_to_follow():
    quality = assess_trace(trace(DEPTH, ideal(signal=28.0)))
    assert "not seen to advance" in quality.steady.sentence
    assert quality.follows.sentence == "It was not seen near the foramen signal."


def test_a_sign_that_fails_names_only_what_was_seen():
    forward = np.where(NO_REST > 24.2, -0.5, ideal(depth=NO_REST))  # from 0.8 past 0 in one step
    assert assess_trace(trace(NO_REST, forward)).steady.sentence == "It jumps 4 times."
    out_and_in = ideal(depth=NO_REST)
    out_and_in[np.flatnonzero(NO_REST > 25.1)[1]] = 1.0  # while the file goes further in
    follows = assess_trace(trace(NO_REST, out_and_in)).follows
    assert follows.sentence == "The signal comes or goes once without the file."


def test_signals_that_do_not_repeat_are_worth_less():
    shown = ideal()
    again = np.arange(DEPTH.size) > DOWN.size + UP.size
    shown[again] = ideal(24.2)[again]
    quality = assess_trace(trace(DEPTH, shown))
    assert quality.repeats.number == pytest.approx(0.8, abs=0.05)
    assert "0.8 mm apart" in quality.repeats.sentence
    assert quality.usable < STEADY.usable - 0.03
    assert quality.signal_sd_mm > 3 * STEADY.signal_sd_mm


def test_a_signal_that_is_not_tried_again_is_worth_less():
    once = DEPTH[: DOWN.size + 10]
    quality = assess_trace(trace(once, ideal(depth=once)))
    assert quality.usable < STEADY.usable - 0.1
    assert not quality.repeats.holds
    assert "does not give it up" in quality.repeats.sentence


def test_a_trace_that_never_reaches_the_signal_gives_no_length():
    quality = assess_trace(trace(DEPTH, ideal(signal=28.0)))
    assert (quality.signal_mm, quality.foramen_mm, quality.foramen_sd_mm) == (None, None, None)
    assert quality.usable == 0.0
    assert "never reaches" in quality.repeats.sentence


def test_a_saturated_display_past_the_foramen_is_a_side_and_no_number():
    """In steps of half a millimetre the value past is the display's end, not a place."""
    depth = np.array([23, 23.5, 24, 24.5, 25, 25.5, 25.0, 24.5, 24.0, 24.5, 25.0, 25.5, 25, 24.5])
    shown = np.where(depth > 24.75, -0.5, 24.75 - depth)
    numbers = numbers_of(0.5 * np.arange(depth.size), depth, shown)
    assert numbers.came_mm.tolist() == [24.75, 24.75]
    quality = assess_trace(trace(depth, shown, step_s=0.5))
    assert quality.signal_sd_mm > 0.5 / np.sqrt(12)


def test_past_all_the_way_is_no_signal():
    quality = assess_trace(trace(DEPTH, np.full(DEPTH.size, -0.5)))
    assert quality.signal_mm is None
    assert quality.usable == 0.0


@pytest.mark.parametrize(
    ("depth", "shown", "words"),
    [
        (DEPTH, [None] * DEPTH.size, "fewer values"),
        (DEPTH, [*ideal()[:5], *[None] * (DEPTH.size - 5)], "fewer values"),
        (np.full(20, 25.0), np.zeros(20), "did not move"),
        (np.full(20, 25.0), np.tile([0.5, -0.5], 10), "did not move"),
    ],
)
def test_what_shows_nothing_cannot_be_judged(depth, shown, words):
    quality = assess_trace(trace(depth, shown))
    assert quality.usable == 0.0
    assert quality.signal_mm is None
    assert all(s.sentence.startswith("Cannot be judged") and words in s.sentence
               for s in quality.signs)  # fmt: skip


def test_what_happens_in_a_long_gap_is_not_counted():
    """A minute without samples, in which the signal came: nobody saw at which depth."""
    shown = ideal()
    kept = np.r_[0:30, DOWN.size : DOWN.size + 14]
    times = np.where(kept < 30, 0.1 * kept, 60 + 0.1 * kept)
    reading = ElectronicReading(
        time_s=tuple(times.tolist()),
        depth_mm=tuple(DEPTH[kept].tolist()),
        indicated=tuple(shown[kept].tolist()),
    )
    assert assess_trace(reading).signal_mm is None


def test_lost_values_leave_the_rest_as_it_was():
    shown = ideal()
    shown[10:30] = np.nan
    assert assess_trace(trace(DEPTH, shown)).signal_mm == pytest.approx(25.0, abs=0.02)


def test_unsorted_time_is_refused():
    with pytest.raises(ValidationError, match=r"field time_s: sample 2 .*sort"):
        ElectronicReading(time_s=(0.2, 0.1), depth_mm=(1.0, 2.0), indicated=(None, 1.0))


def test_a_signal_without_a_trace_cannot_be_judged():
    with pytest.raises(ValueError, match="field time_s: missing"):
        assess_trace(ElectronicReading(foramen_signal_mm=25.0))


def test_a_million_samples_are_refused_and_the_most_allowed_are_judged():
    many = 1_000_000
    values = (1.0,) * many
    with pytest.raises(ValidationError, match="got 1000000 samples; allowed are 2 to 20000"):
        ElectronicReading(time_s=tuple(map(float, range(many))), depth_mm=values, indicated=values)
    depth = np.interp(np.linspace(0, 1, MOST_SAMPLES), np.linspace(0, 1, DEPTH.size), DEPTH)
    reading = trace(depth, ideal(depth=depth), step_s=0.002)
    assert assess_trace(reading).signal_mm == pytest.approx(25.0, abs=0.02)


def test_every_term_of_the_probability_has_its_weight():
    numbers = numbers_of(0.1 * np.arange(DEPTH.size), DEPTH, ideal())
    assert set(features_of(numbers)) == {row["id"] for row in read_rows("trace_weights")}


def test_trust_is_that_of_the_trace_and_less_in_blood():
    usual, blood = readings.TRUST.value, readings.TRUST_FLOODED.value
    assert trust_with_trace(usual, STEADY) == pytest.approx(STEADY.usable)
    assert 0.5 < trust_with_trace(blood, STEADY) < STEADY.usable
