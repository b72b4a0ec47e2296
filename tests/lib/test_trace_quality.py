"""A trace is judged by what it shows, and a steady early one cannot be seen through."""

import numpy as np
import pytest
from lengthwise.evidence import ElectronicReading
from lengthwise.marking.trace_table import trace_around
from lengthwise.reconciliation.trace_quality import assess_trace


def trace(depth, shown):
    return ElectronicReading(
        time_s=tuple(0.1 * i for i in range(len(depth))),
        depth_mm=tuple(float(d) for d in depth),
        indicated=tuple(None if s is None else float(s) for s in shown),
    )


def in_out(signal=25.0):
    depth = np.concatenate([np.arange(22, 25.4, 0.1), np.arange(25.3, 24.5, -0.1)])
    return depth, np.clip(signal - depth, -0.5, 3.0)


def test_a_steady_trace_is_usable_and_gives_its_depth():
    quality = assess_trace(trace(*in_out()))
    assert quality.usable > 0.9
    assert quality.signal_mm == pytest.approx(25.0, abs=0.02)
    assert all(sign.holds for sign in quality.signs)


def test_a_jumping_trace_is_not_usable():
    depth, shown = in_out()
    rng = np.random.default_rng(3)
    quality = assess_trace(trace(depth, shown + rng.normal(0, 1.5, depth.size)))
    assert quality.usable < 0.1
    assert not quality.steady.holds


def test_a_trace_that_wanders_while_the_file_rests_is_not_usable():
    depth = np.concatenate([np.arange(22, 25.4, 0.1), np.full(60, 25.3)])
    shown = np.clip(25.0 - depth, -0.5, 3.0)
    shown[-60:] += 0.4 * np.cos(np.pi * np.arange(60))
    quality = assess_trace(trace(depth, shown))
    assert not quality.follows.holds
    assert quality.usable < 0.2


def test_a_trace_that_never_reaches_the_signal_gives_no_length():
    depth, shown = in_out(signal=28.0)
    quality = assess_trace(trace(depth, shown))
    assert quality.signal_mm is None
    assert quality.usable == 0.0
    assert "never reaches" in quality.repeats.sentence


def test_a_display_without_values_cannot_be_judged():
    depth, _ = in_out()
    quality = assess_trace(trace(depth, [None] * depth.size))
    assert quality.usable == 0.0
    assert quality.steady.sentence.startswith("Cannot be judged")


def test_a_file_that_does_not_move_cannot_be_judged():
    quality = assess_trace(trace(np.full(20, 25.0), np.zeros(20)))
    assert quality.signal_mm is None
    assert "did not move" in quality.steady.sentence


def test_a_signal_without_a_trace_cannot_be_judged():
    with pytest.raises(ValueError, match="field time_s: missing"):
        assess_trace(ElectronicReading(foramen_signal_mm=25.0))


def test_tables_of_sound_readings_are_judged_usable_and_erratic_ones_not():
    rng = np.random.default_rng(11)
    sound = [assess_trace(trace_around(25.13, False, rng)) for _ in range(200)]
    erratic = [assess_trace(trace_around(25.13, True, rng)) for _ in range(200)]
    assert np.mean([q.usable > 0.8 for q in sound]) > 0.95
    assert np.mean([q.usable < 0.5 for q in erratic]) > 0.9
    assert np.mean([abs(q.signal_mm - 25.13) for q in sound]) < 0.1
