"""Wicking as laws: limits, inverses, growth and scaling."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.physics import wicking
from lengthwise.physics.wicking import (
    entrance_limited_mm_and_slope,
    held_volume_ul,
    washburn_mm_and_slope,
    wetted_by_volume_mm,
    wicked_length_mm,
)

TIMES_S = st.floats(1e-6, 3600.0)
KS = st.floats(0.01, 10.0)
RADII_MM = st.floats(0.02, 1.0)
SLOPES = st.one_of(st.just(0.0), st.floats(1e-12, 0.1))
FACTORS = st.floats(1.001, 50.0)


def contact_s(wicked_mm, *, k_mm_per_sqrt_s, entrance_radius_mm, radius_slope):
    """The law as it is written: l²/2 + s l³/(3 r0) = K² t/2."""
    widening = 2 * radius_slope * wicked_mm / (3 * entrance_radius_mm)
    return (wicked_mm / k_mm_per_sqrt_s) ** 2 * (1 + widening)


@given(TIMES_S, KS, RADII_MM, SLOPES)
def test_time_and_length_are_each_other_s_inverse(time, k, radius, slope):
    cone = {"k_mm_per_sqrt_s": k, "entrance_radius_mm": radius, "radius_slope": slope}
    length = wicked_length_mm(time, **cone)
    assert contact_s(length, **cone) == pytest.approx(time, rel=1e-9)


@given(TIMES_S, KS, RADII_MM, SLOPES, FACTORS)
def test_longer_contact_wets_more_and_a_wider_cone_less(time, k, radius, slope, factor):
    def length(time=time, k=k, radius=radius, slope=slope):
        return float(
            wicked_length_mm(time, k_mm_per_sqrt_s=k, entrance_radius_mm=radius, radius_slope=slope)
        )

    assert length(time=time * factor) > length()
    assert length(k=k * factor) > length()
    assert length(radius=radius * factor) >= length() * (1 - 1e-12)
    assert length(slope=slope * factor) <= length() * (1 + 1e-12)
    assert length() <= k * np.sqrt(time) * (1 + 1e-12)  # never more than a strip


@given(TIMES_S, KS, RADII_MM, SLOPES, FACTORS)
def test_a_cone_drawn_larger_wets_as_much_larger_a_length(time, k, radius, slope, factor):
    """All lengths times f, with K in mm/√s: the same shape, so the same law."""
    here = wicked_length_mm(time, k_mm_per_sqrt_s=k, entrance_radius_mm=radius, radius_slope=slope)
    there = wicked_length_mm(
        time, k_mm_per_sqrt_s=k * factor, entrance_radius_mm=radius * factor, radius_slope=slope
    )
    assert there == pytest.approx(here * factor, rel=1e-9)


@given(TIMES_S, KS, RADII_MM, SLOPES, FACTORS)
def test_only_k_squared_times_time_counts(time, k, radius, slope, factor):
    cone = {"entrance_radius_mm": radius, "radius_slope": slope}
    here = wicked_length_mm(time, k_mm_per_sqrt_s=k, **cone)
    there = wicked_length_mm(time / factor**2, k_mm_per_sqrt_s=k * factor, **cone)
    assert there == pytest.approx(here, rel=1e-9)


@given(TIMES_S, KS, RADII_MM)
def test_without_taper_it_is_the_root_of_time(time, k, radius):
    strip = wicked_length_mm(time, k_mm_per_sqrt_s=k, entrance_radius_mm=radius, radius_slope=0.0)
    assert strip == pytest.approx(k * np.sqrt(time), rel=1e-14)
    assert strip == pytest.approx(float(washburn_mm_and_slope(time, k_mm_per_sqrt_s=k)[0]))


def test_no_digit_is_lost_where_formulas_meet():
    """Around the switch from sines to hyperbolic cosines, and down to slopes of nothing."""
    for slope in (1e-15, 1e-11, 1e-9, 1e-7, 1e-3, 0.05):
        times = np.geomspace(1e-6, 3600, 4001)
        cone = {"k_mm_per_sqrt_s": 3.0, "entrance_radius_mm": 0.1, "radius_slope": slope}
        back = contact_s(wicked_length_mm(times, **cone), **cone)
        np.testing.assert_allclose(back, times, rtol=5e-9)


def test_scalars_and_arrays_give_the_same():
    times, slopes = np.array([0.5, 1.0, 9.0])[:, None], np.array([0.0, 0.01])
    cone = {"k_mm_per_sqrt_s": 0.4, "entrance_radius_mm": 0.12}
    together = wicked_length_mm(times, radius_slope=slopes, **cone)
    assert together.shape == (3, 2)
    for i, j in np.ndindex(3, 2):
        alone = wicked_length_mm(times[i, 0], radius_slope=slopes[j], **cone)
        assert alone.shape == ()
        assert alone == together[i, j]
    assert np.isnan(wicked_length_mm(np.nan, radius_slope=0.01, **cone))
    assert wicked_length_mm(0.0, radius_slope=0.01, **cone) == 0.0


def test_the_two_laws_agree_at_one_second_and_differ_nearly_twofold_at_five():
    k, entrance = 0.3, 1.5
    for time, ratio in ((1.0, 1.0), (5.0, 1.76)):
        strip = washburn_mm_and_slope(time, k_mm_per_sqrt_s=k)[0]
        slow_in = entrance_limited_mm_and_slope(
            time, k_mm_per_sqrt_s=k, entrance_length_mm=entrance
        )[0]
        assert slow_in / strip == pytest.approx(ratio, abs=0.01)


@given(st.floats(0.1, 100.0), st.floats(0.1, 3.0), st.floats(0.1, 5.0))
def test_the_change_that_comes_along_is_the_derivative(time, k, entrance):
    for law in (
        lambda t: washburn_mm_and_slope(t, k_mm_per_sqrt_s=k),
        lambda t: entrance_limited_mm_and_slope(t, k_mm_per_sqrt_s=k, entrance_length_mm=entrance),
    ):
        step = 1e-4
        numeric = (law(time * np.exp(step))[0] - law(time * np.exp(-step))[0]) / (2 * step)
        assert law(time)[1] == pytest.approx(numeric, rel=1e-5)


@given(st.floats(1e-6, 100.0), RADII_MM, SLOPES, st.floats(0.1, 1.0))
def test_a_finite_volume_wets_a_finite_length(volume, radius, slope, share):
    cone = {"held_share": share, "entrance_radius_mm": radius, "radius_slope": slope}
    length = wetted_by_volume_mm(volume, **cone)
    assert np.isfinite(length)
    assert held_volume_ul(length, **cone) == pytest.approx(volume, rel=1e-6)
    assert wetted_by_volume_mm(2 * volume, **cone) > length


def test_a_millimetre_of_canal_holds_about_seven_hundredths_of_a_microlitre():
    """Canal 0.3 mm wide: 0.07 µl per mm; a point that fills it takes up about half of that."""
    full = held_volume_ul(1.0, held_share=1.0, entrance_radius_mm=0.15, radius_slope=0.0)
    assert full == pytest.approx(0.0707, abs=5e-5)


@pytest.mark.parametrize(
    ("law", "fields", "wrong"),
    [
        ("wicked_length_mm", ("contact_s",), -1.0),
        ("wicked_length_mm", ("k_mm_per_sqrt_s", "entrance_radius_mm"), 0.0),
        ("wicked_length_mm", ("radius_slope",), -0.01),
        ("wetted_by_volume_mm", ("volume_ul",), np.inf),
        ("held_volume_ul", ("held_share",), 0.0),
    ],
)
def test_what_cannot_be_is_refused_with_its_name(law, fields, wrong):
    given_all = {
        "contact_s": 1.0,
        "k_mm_per_sqrt_s": 0.3,
        "entrance_radius_mm": 0.15,
        "radius_slope": 0.01,
        "wicked_mm": 0.3,
        "volume_ul": 0.1,
        "wetted_mm": 1.0,
        "held_share": 0.5,
    }
    wanted = {
        "wicked_length_mm": ("contact_s", "k_mm_per_sqrt_s", "entrance_radius_mm", "radius_slope"),
        "wetted_by_volume_mm": ("volume_ul", "held_share", "entrance_radius_mm", "radius_slope"),
        "held_volume_ul": ("wetted_mm", "held_share", "entrance_radius_mm", "radius_slope"),
    }[law]  # fmt: skip
    for field in fields:
        arguments = {name: given_all[name] for name in wanted} | {field: wrong}
        with pytest.raises(ValueError, match=f"field {field}: got .*allowed is a finite number"):
            getattr(wicking, law)(arguments.pop(wanted[0]), **arguments)
