"""The meter's curve: inverts its own quotients, saturates off its ramp, one row a draw."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lengthwise.bench.meter_curve import SHORT_MM, calibration_curve, median_shape
from lengthwise.bench.meter_materials import all_materials
from lengthwise.physics.impedance import impedance_ohm, quotient
from lengthwise.physics.line import File, Filling, Materials
from lengthwise.reference import electrical as e

ALL = calibration_curve(all_materials())
ROWS = np.arange(len(ALL))


def of_draw(i: int) -> Materials:
    return Materials(**{name: value[[i]] for name, value in vars(all_materials()).items()})


def test_every_curve_indicates_on_its_ramp_where_the_file_stands():
    on = np.clip(SHORT_MM, ALL.past_end_mm[:, None], ALL.short_end_mm[:, None])
    np.testing.assert_allclose(ALL.indicated(ALL.quotient), on, atol=1e-12)


@settings(deadline=None, max_examples=20)
@given(st.floats(-0.3, 2.9), st.integers(0, len(ALL) - 1))
def test_between_its_places_a_curve_is_off_by_less_than_a_hundredth(short, i):
    materials = of_draw(i)
    filling, file = Filling(e.SALINE_OHM_M.value), File(e.CALIBRATION_FILE_MM.value)
    q = quotient(impedance_ohm(median_shape(), file, filling, materials, -short))
    shown = calibration_curve(materials).indicated(q)[0, 0]
    assert shown == pytest.approx(max(short, ALL.past_end_mm[i]), abs=0.01)


def test_one_curve_of_many_is_that_of_its_draw_alone():
    for i in (0, len(ALL) - 1):
        alone = calibration_curve(of_draw(i))
        np.testing.assert_allclose(alone.quotient[0], ALL.quotient[i], rtol=1e-9)


def test_the_further_from_the_tissue_the_larger_the_quotient_and_what_is_indicated():
    q = np.broadcast_to(np.linspace(0.0, 1.0, 400), (len(ALL), 400))
    shown = ALL.indicated(q)
    assert np.all(np.diff(shown, axis=1) >= 0)
    np.testing.assert_array_equal(shown[:, 0], ALL.past_end_mm)
    np.testing.assert_array_equal(shown[:, -1], ALL.short_end_mm)


def test_no_reading_stays_no_reading():
    assert np.isnan(ALL.indicated(np.full((len(ALL), 2), np.nan))).all()


def test_rows_that_do_not_fit_the_curves_are_refused():
    with pytest.raises(ValueError, match="field quotient: got shape"):
        ALL.indicated(np.zeros((3, 5)))


def test_where_the_signal_comes_first_is_found_between_places_and_at_the_start():
    at = np.array([-1.0, -0.5, 0.0])
    zero = ALL.foramen_quotient[:, None]
    crossing = zero + np.array([0.3, 0.1, -0.1])
    np.testing.assert_allclose(ALL.foramen_signal_mm(at, crossing), -0.25)
    np.testing.assert_allclose(ALL.foramen_signal_mm(at, zero + np.array([-0.1, 0.1, 0.1])), -1.0)
    assert np.isnan(ALL.foramen_signal_mm(at, zero + np.array([0.3, 0.2, 0.1]))).all()


def test_a_curve_without_a_ramp_says_so_at_both_ends():
    """Nothing but a body: the quotient is the same everywhere, and so is what is indicated."""
    flat = calibration_curve(Materials(body_ohm=1e15))
    assert flat.short_end_mm[0] - flat.past_end_mm[0] < 0.2
