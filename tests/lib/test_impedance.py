"""The leaky line: nothing jumps, laws of circuits hold, impossible places are refused."""

import itertools
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.canal_space import HEIGHTS_MM, space_of
from lengthwise.bench.meter import draw_meters
from lengthwise.bench.meter_conditions import draw_conditions
from lengthwise.bench.meter_grid import CELLS as GRID_CELLS
from lengthwise.bench.meter_line import line_shapes
from lengthwise.physics.impedance import CELLS, furthest_past_mm, impedance_ohm, quotient
from lengthwise.physics.line import File, Filling, LineShape, Materials
from lengthwise.reference import electrical as e
from lengthwise.reference.quantity import Quantity

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "published"))

from circuit_ladders import NO_WALL, canine, tube

FILE = File(0.15)
FULL = Filling(e.SALINE_OHM_M.value)
MIDDLE = Materials()
PLACES = np.array([-8.0, -3.0, -1.0, -0.7, -0.3, 0.0, 0.3, 1.0])
EXAMPLES = settings(max_examples=40, deadline=None)


def between(record: Quantity) -> st.SearchStrategy[float]:
    low, high = np.log([record.low, record.high])
    return st.floats(low, high).map(lambda v: float(np.exp(v)))


materials = st.builds(
    Materials,
    tissue_ohm_m=between(e.TISSUE_OHM_M),
    dentine_ohm_m=between(e.DENTINE_OHM_M),
    dentine_permittivity=between(e.DENTINE_PERMITTIVITY),
    cementum_ohm_m2=between(e.CEMENTUM_OHM_M2),
    cementum_f_per_m2=between(e.CEMENTUM_F_PER_M2),
    interface_s_per_m2=between(e.INTERFACE_S_PER_M2),
    interface_alpha=between(e.INTERFACE_ALPHA),
    body_ohm=between(e.BODY_OHM),
)
liquids = st.floats(0.06, 20.0)
levels = st.one_of(st.just(np.inf), st.floats(0.0, 16.0))


# --- nothing jumps ------------------------------------------------------------------------------


@EXAMPLES
@given(m=materials, liquid=liquids, level=levels, size=st.sampled_from([0.10, 0.15, 0.25]))
def test_the_quotient_does_not_jump_where_the_tip_passes_the_foramen(m, liquid, level, size):
    """At most 1e-5 over a ten-thousandth of a micrometre, and less the closer the two tips are."""
    filling = Filling(liquid, level_mm=level)
    for apart, most in ((1e-7, 1e-5), (1e-9, 1e-7)):
        at = [-apart / 2, apart / 2]
        q = quotient(impedance_ohm(canine(), File(size), filling, m, at))
        assert abs(q[0, 1] - q[0, 0]) < most


@EXAMPLES
@given(m=materials, liquid=liquids, place=st.sampled_from([-0.7, -1.5, -4.5]))
def test_the_quotient_does_not_jump_at_the_constriction_or_a_corner(m, liquid, place):
    at = [place - 1e-9, place, place + 1e-9]
    assert np.ptp(quotient(impedance_ohm(canine(), FILE, Filling(liquid), m, at))) < 1e-8


def test_separate_formulas_on_the_two_sides_would_jump():
    """The check of a jump can fail: an end of 4r/ρ alone, without the exposed rod, does."""
    z = impedance_ohm(canine(), FILE, FULL, Materials(), [-1e-6, 0.5])
    assert abs(np.diff(quotient(z))[0, 0]) > 1e-3


SURFACES_MM = (np.inf, 8.0, 0.3)
CHAMBERS_OHM = (np.inf, 2000.0, 300.0)
"""A dry one, one that is flooded, and the worst that is thought possible."""


def off(shape, file, filling, places, of=MIDDLE, cells=CELLS):
    """By how much four times the cells change the quotients."""
    few, many = (
        quotient(impedance_ohm(shape, file, filling, of, places, cells=m))
        for m in (cells, 4 * cells)
    )
    return np.abs(few - many)


@pytest.mark.parametrize("flooded", CHAMBERS_OHM)
@pytest.mark.parametrize("level", SURFACES_MM)
def test_more_cells_hardly_change_the_quotient_wherever_current_leaves(level, flooded):
    most = 1e-4 if level == np.inf else 2e-4
    for liquid, size in itertools.product([0.091, 0.559, 1.49], [0.10, 0.15, 0.20]):
        filling = Filling(liquid, level_mm=level, flooded_ohm=flooded)
        assert off(canine(), File(size), filling, PLACES).max() < most


@pytest.mark.parametrize("flooded", CHAMBERS_OHM)
@pytest.mark.parametrize("level", SURFACES_MM)
@pytest.mark.parametrize(("shaped", "most"), [(False, 7e-4), (True, 1.2e-3)])
def test_more_cells_hardly_matter_in_drawn_canals(shaped, most, level, flooded):
    """Files that bind among them; a ramp falls by 1e-3 in a few micrometres."""
    shapes = line_shapes(draw_canals("13", 40, np.random.default_rng(4)), shaped=shaped)
    at = np.minimum(PLACES, furthest_past_mm(shapes, File(0.1))[:, None])
    filling = replace(FULL, level_mm=level, flooded_ohm=flooded)
    assert np.quantile(off(shapes, File(0.1), filling, at), 0.99) < most


@pytest.mark.parametrize(("shaped", "most"), [(False, 0.001), (True, 0.003)])
def test_the_cells_of_a_grid_are_fine_enough_in_the_conditions_that_are_drawn(shaped, most):
    rng = np.random.default_rng(3)
    shapes = line_shapes(draw_canals("13", 60, rng), shaped=shaped)
    drawn, usual = draw_conditions(60, rng), draw_meters(60, rng).materials
    at = np.minimum(np.linspace(-3.0, 0.6, 13), furthest_past_mm(shapes, File(0.1))[:, None])
    by = off(shapes, File(0.1), drawn.filling(), at, drawn.materials(usual), GRID_CELLS)
    assert np.quantile(by, 0.99) < most


@pytest.mark.parametrize("cells", [60, 100, 121])
@pytest.mark.parametrize("level", SURFACES_MM)
def test_a_number_of_cells_that_cannot_be_shared_out_evenly_is_rounded_down(cells, level):
    """Half the cells are exactly half, or the extrapolation would add an error of its own."""
    filling = replace(FULL, level_mm=level)
    even = cells // (8 if level == np.inf else 12) * (8 if level == np.inf else 12)
    found, same = (
        impedance_ohm(canine(), FILE, filling, Materials(), PLACES, cells=m) for m in (cells, even)
    )
    assert np.array_equal(found, same)


# --- laws of circuits ---------------------------------------------------------------------------


@EXAMPLES
@given(m=materials, liquid=liquids, level=levels)
def test_the_circuit_is_passive_and_never_inductive(m, liquid, level):
    filling = Filling(liquid, level_mm=level, flooded_ohm=2000.0, contact_ohm=3000.0)
    z = impedance_ohm(canine(), FILE, filling, m, PLACES, [100.0, 400.0, 8000.0, 1e5])
    assert np.all(z.real > m.body_ohm)
    assert np.all(z.imag < 0)
    assert np.all(np.diff(np.abs(z), axis=2) < 0)
    assert np.all((quotient(z) > 0) & (quotient(z) < 1))


RESISTANCES = ("tissue_ohm_m", "dentine_ohm_m", "cementum_ohm_m2", "body_ohm")


@EXAMPLES
@given(m=materials, liquid=liquids, name=st.sampled_from(RESISTANCES), factor=st.floats(1.01, 10.0))
def test_no_resistance_that_grows_lowers_the_whole(m, liquid, name, factor):
    """Rayleigh's law, in a circuit of resistances: no capacitance, and an interface without one."""
    bare = replace(m, dentine_permittivity=0.0, cementum_f_per_m2=0.0, interface_alpha=1e-9)
    more = replace(bare, **{name: getattr(bare, name) * factor})
    low, high = (
        np.abs(impedance_ohm(canine(), FILE, Filling(liquid), each, PLACES))
        for each in (bare, more)
    )
    assert np.all(high >= low * (1 - 1e-9))


@EXAMPLES
@given(m=materials, liquid=liquids, level=levels)
def test_a_file_that_goes_deeper_or_liquid_that_conducts_better_never_raises_a_resistance(
    m, liquid, level
):
    bare = replace(m, dentine_permittivity=0.0, cementum_f_per_m2=0.0, interface_alpha=1e-9)
    filling = Filling(liquid, level_mm=level)
    z = np.abs(impedance_ohm(canine(), File(0.15, 0.0), filling, bare, np.linspace(-6, 0.0, 40)))
    # Metal in the way of a current narrows it where the interface hardly conducts.
    assert np.all(np.diff(z, axis=1) <= 2e-3 * z[:, 1:])
    better = np.abs(
        impedance_ohm(
            canine(), File(0.15, 0.0), replace(filling, liquid_ohm_m=liquid / 2), bare,
            np.linspace(-6, 0.0, 40),
        )
    )  # fmt: skip
    assert np.all(better <= z * (1 + 1e-9))


def test_a_perfect_file_at_the_foramen_leaves_the_resistance_of_a_disc():
    perfect = Materials(interface_s_per_m2=1e9, tissue_ohm_m=1.0, body_ohm=250.0, **NO_WALL)
    z = impedance_ohm(tube(0.2), File(0.2, 0.0), FULL, perfect, 0.0)
    np.testing.assert_allclose(z, 250.0 + 1e3 / (4 * 0.2), rtol=1e-6)


def test_a_contact_is_in_parallel_with_everything_but_the_body():
    m = Materials(body_ohm=0.0)
    alone = impedance_ohm(canine(), FILE, FULL, m, PLACES)
    touched = impedance_ohm(canine(), FILE, replace(FULL, contact_ohm=700.0), m, PLACES)
    np.testing.assert_allclose(1 / touched, 1 / alone + 1 / 700.0, rtol=1e-12)


def test_a_flooded_chamber_leads_from_the_liquid_not_from_the_file():
    """However good its way to the gum, current still has to leave the file through its interface"""
    flooded = replace(FULL, flooded_ohm=1e-6)
    poor = Materials(interface_s_per_m2=1e-9)
    z = impedance_ohm(canine(), FILE, flooded, poor, -1.0)
    assert np.all(np.abs(z) > 1e6)
    dry = np.abs(impedance_ohm(canine(), FILE, FULL, Materials(), PLACES))
    assert np.all(np.abs(impedance_ohm(canine(), FILE, flooded, Materials(), PLACES)) < dry)


def test_a_film_as_thick_as_the_room_is_a_full_canal_and_a_thin_one_insulates():
    thick = replace(FULL, level_mm=0.0, film_mm=5.0)
    full = impedance_ohm(canine(), FILE, FULL, Materials(), PLACES, cells=2000)
    same = impedance_ohm(canine(), FILE, thick, Materials(), PLACES, cells=2000)
    np.testing.assert_allclose(same, full, rtol=1e-5)
    thin = replace(FULL, level_mm=0.0, film_mm=0.002)
    within = PLACES < 0
    dried = impedance_ohm(canine(), FILE, thin, Materials(), PLACES)
    assert np.all(np.abs(dried) > np.abs(full))
    assert np.all(np.abs(dried)[0, within, 0] > 3 * np.abs(full)[0, within, 0])


# --- many at once -------------------------------------------------------------------------------


def test_a_batch_finds_what_each_canal_and_tip_finds_alone():
    shapes = line_shapes(draw_canals("13", 4, np.random.default_rng(5)), shaped=True)
    far = furthest_past_mm(shapes, File([0.08, 0.1, 0.1, 0.08]))
    tips = np.minimum(np.array([[-5.0, -1.2, 0.2]]), far[:, None])
    many = Materials(dentine_ohm_m=[500.0, 1000.0, 2000.0, 4000.0])
    shunts = np.where(np.arange(12).reshape(4, 3) % 2, 900.0, np.inf)
    whole = impedance_ohm(
        shapes, File([0.08, 0.1, 0.1, 0.08]), replace(FULL, contact_ohm=shunts), many, tips
    )
    for i in range(4):
        alone = LineShape(*(getattr(shapes, n)[[i]] for n in shapes.__dataclass_fields__))
        for j in range(3):
            z = impedance_ohm(
                alone, File([0.08, 0.1, 0.1, 0.08][i]), replace(FULL, contact_ohm=shunts[i, j]),
                replace(many, dentine_ohm_m=many.dentine_ohm_m[i]), tips[i, j],
            )  # fmt: skip
            np.testing.assert_allclose(z[0, 0], whole[i, j], rtol=1e-10)


def test_a_full_canal_is_read_alike_alone_and_beside_a_dry_one():
    shapes = LineShape(*(np.repeat(v, 3, axis=0) for v in vars(canine()).values()))
    levels = replace(FULL, level_mm=np.array([np.inf, 4.0, np.inf]))
    beside = impedance_ohm(shapes, FILE, levels, Materials(), PLACES, cells=60)
    for i, level in enumerate(levels.level_mm):
        alone = impedance_ohm(
            canine(), FILE, replace(FULL, level_mm=level), Materials(), PLACES, cells=60
        )
        np.testing.assert_allclose(beside[i], alone[0], rtol=1e-12)


def test_no_tips_are_no_impedances():
    assert impedance_ohm(canine(), FILE, FULL, Materials(), []).shape == (1, 0, 2)


def test_more_tips_than_fit_at_once_are_the_same_tips():
    at = np.linspace(-6, 1, 1234)
    whole = impedance_ohm(canine(), FILE, FULL, Materials(), at)
    few = impedance_ohm(canine(), FILE, FULL, Materials(), at[::100])
    np.testing.assert_allclose(whole[:, ::100], few, rtol=1e-12)


def test_a_missing_position_stays_missing_and_spoils_no_other():
    z = impedance_ohm(canine(), FILE, FULL, Materials(), [-1.0, np.nan, 0.2])
    assert np.isnan(z[0, 1]).all()
    np.testing.assert_allclose(
        z[0, [0, 2]], impedance_ohm(canine(), FILE, FULL, Materials(), [-1.0, 0.2])[0], rtol=1e-12
    )


# --- a file binds -------------------------------------------------------------------------------


def test_a_file_goes_until_some_part_of_it_is_as_wide_as_the_canal():
    # A tip of 0.32 mm meets radius 0.16 on the way from 0.22 (1.5 mm) to 0.14 (0.7 mm).
    assert furthest_past_mm(canine(), File(0.32, 0.0)) == pytest.approx(-0.9)
    # Its side, 0.02 mm a mm, fits the constriction of radius 0.14 until it is 6.5 mm past it.
    assert furthest_past_mm(canine(), File(0.15, 0.02)) == pytest.approx(5.8)
    assert furthest_past_mm(canine(), File(0.10, 0.0)) == np.inf
    assert furthest_past_mm(canine(), File(2.0)) == -np.inf


@EXAMPLES
@given(size=st.floats(0.06, 0.6), taper=st.just(0.0) | st.floats(1e-4, 0.08))
def test_a_file_at_its_furthest_fits_and_a_step_further_does_not(size, taper):
    shape, file = canine(), File(size, taper)
    furthest = furthest_past_mm(shape, file)[0]
    heights = np.linspace(0.0, shape.orifice_mm[0], 4001)
    radius = np.interp(heights, shape.height_mm[0], shape.radius_mm[0])

    def room(past):
        beside = heights >= -past
        wide = size / 2 + taper / 2 * (heights + past)
        return (radius - wide)[beside].min(initial=np.inf)

    if not np.isfinite(furthest) or furthest > 10:
        return
    assert room(furthest) > -1e-9
    assert room(furthest + 0.02) < room(furthest)
    assert room(furthest + 0.1) < 0.001


@pytest.mark.parametrize(
    ("file", "at", "words"),
    [
        (File(0.40), 0.0, "binds"),
        (FILE, -16.5, "orifice"),
        (File(0.10, 0.0), -16.5, r"\(at the orifice\) or more; hold the file inside the canal$"),
        (File(2.0), 0.0, "no place in this canal: the file binds at once; take a thinner one$"),
        (FILE, [[-1.0], [-1.0]], "match the canals"),
    ],
)
def test_an_impossible_position_is_refused_and_the_allowed_ones_are_named(file, at, words):
    with pytest.raises(ValueError, match=words) as refused:
        impedance_ohm(canine(), file, FULL, Materials(), at)
    assert "field tip_past_mm: got" in str(refused.value)
    assert "allowed" in str(refused.value)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: File(0.0), "tip_diameter_mm"),
        (lambda: File(0.15, -0.02), "taper"),
        (lambda: Filling(np.nan), "liquid_ohm_m"),
        (lambda: Filling(1.0, film_mm=0.0), "film_mm"),
        (lambda: Filling(1.0, level_mm=-1.0), "level_mm"),
        (lambda: Filling(1.0, contact_ohm=0.0), "contact_ohm"),
        (lambda: Materials(interface_alpha=1.2), "interface_alpha"),
        (lambda: Materials(cementum_ohm_m2=0.0), "cementum_ohm_m2"),
        (lambda: LineShape(np.zeros((1, 2)), np.ones((1, 3)), np.ones((1, 2))), "height_mm"),
        (lambda: LineShape([[0.0, np.nan, 2.0]], np.ones((1, 3)), np.full((1, 3), 2)), "height_mm"),
        (lambda: LineShape(np.array([[0.0, 2, 1]]), np.ones((1, 3)), np.full((1, 3), 2)), "height"),
        (lambda: LineShape(np.array([[0.0, 2.0]]), np.ones((1, 2)), np.ones((1, 2))), "outer"),
        (
            lambda: impedance_ohm(canine(), FILE, FULL, Materials(body_ohm=[1.0, 2.0]), 0.0),
            "body_ohm",
        ),
        (lambda: impedance_ohm(canine(), FILE, FULL, Materials(), 0.0, [0.0]), "frequency_hz"),
        (lambda: impedance_ohm(canine(), FILE, FULL, Materials(), 0.0, cells=1), "cells"),
        (lambda: LineShape([[0.0, 15.0]], [[0.2, 0.2]], [[0.2, 2.0]]), "outer"),
    ],
)
def test_what_cannot_be_is_refused_by_the_name_of_its_field(make, field):
    with pytest.raises(ValueError, match=f"field .*{field}.*allowed"):
        make()


# --- canals of the simulated patient ------------------------------------------------------------


@pytest.mark.parametrize("shaped", [False, True])
@pytest.mark.parametrize("fdi", ["11", "13", "15", "26", "36", "41"])
def test_every_drawn_canal_makes_a_line_with_the_widths_the_points_meet(fdi, shaped):
    canals = draw_canals(fdi, 200, np.random.default_rng(2))
    shapes, space = line_shapes(canals, shaped=shaped), space_of(canals, shaped=shaped)
    np.testing.assert_allclose(shapes.orifice_mm, canals.foramen_mm - canals.cej_mm)
    np.testing.assert_allclose(2 * shapes.radius_mm[:, 0], canals.foramen_diameter_mm)
    np.testing.assert_array_less(shapes.radius_mm, shapes.outer_radius_mm)
    for i in range(0, 200, 10):
        inside = shapes.orifice_mm[i] > HEIGHTS_MM
        width = 2 * np.interp(HEIGHTS_MM[inside], shapes.height_mm[i], shapes.radius_mm[i])
        # Where preparation ends one widens over 0.1 mm, the other in a step.
        away = np.abs(HEIGHTS_MM[inside] - 0.5) > 0.11
        np.testing.assert_allclose(width[away], space.diameter_mm[i, inside][away], atol=0.02)
