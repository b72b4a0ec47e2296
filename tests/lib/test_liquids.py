"""Liquids: the table is asked exactly, and refuses what it does not hold."""

import numpy as np
import pytest
from lengthwise.physics.liquids import k_ratio, liquid, washburn_k_mm_per_sqrt_s


def test_the_ratio_does_not_depend_on_the_paper():
    blood, water = liquid("blood"), liquid("water")
    for radius, angle in ((50.0, 0.0), (400.0, 60.0)):
        paper = {"pore_radius_nm": radius, "contact_angle_deg": angle}
        ratio = washburn_k_mm_per_sqrt_s(blood, **paper) / washburn_k_mm_per_sqrt_s(water, **paper)
        assert ratio == pytest.approx(k_ratio(blood, water))
    assert k_ratio(blood, water) * k_ratio(water, blood) == pytest.approx(1.0)


def test_four_times_the_pore_wicks_twice_as_far_and_a_slanting_wall_less():
    water = liquid("water")
    k = washburn_k_mm_per_sqrt_s(water, pore_radius_nm=100)
    assert washburn_k_mm_per_sqrt_s(water, pore_radius_nm=400) == pytest.approx(2 * k)
    slanting = washburn_k_mm_per_sqrt_s(water, pore_radius_nm=100, contact_angle_deg=60)
    assert slanting == pytest.approx(k / np.sqrt(2))


def test_a_liquid_says_where_it_is_from():
    for name in ("water", "blood", "serum"):
        assert liquid(name).source
        assert liquid(name).status in ("seen", "computed")
    assert "Rosina" in liquid("blood").source
    assert "Rosenson" in liquid("blood").source


def test_a_temperature_that_was_worked_out_finds_its_row():
    assert liquid("water", temperature_c=310.15 - 273.15) == liquid("water")
    assert liquid("blood", shear_per_s=0.1 * 3 / 0.3 * 100) == liquid("blood")


@pytest.mark.parametrize(
    "asked", [{"name": "saliva"}, {"name": "blood", "temperature_c": 20.0}, {"name": "water",
     "temperature_c": 36.0}, {"name": "blood", "shear_per_s": 30.0}],
)  # fmt: skip
def test_what_the_table_does_not_hold_is_refused(asked):
    with pytest.raises(ValueError, match=r"field name: got .*allowed are .*serum at 37.0 C"):
        liquid(asked.pop("name"), **asked)


@pytest.mark.parametrize("wrong", [{"pore_radius_nm": 0.0}, {"contact_angle_deg": 90.0}])
def test_a_pore_that_cannot_wick_is_refused(wrong):
    with pytest.raises(ValueError, match="nothing wicks"):
        washburn_k_mm_per_sqrt_s(liquid("water"), **{"pore_radius_nm": 100.0, **wrong})
