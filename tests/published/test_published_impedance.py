"""The leaky line against closed forms, other people's circuit solvers, and computed values."""

import warnings

import numpy as np
import pytest
from circuit_ladders import NO_WALL, by_hand, by_ngspice, canine, ladders, tube
from lengthwise.physics.impedance import METER_HZ, impedance_ohm, quotient
from lengthwise.physics.line import File, Filling, LineShape, Materials
from lengthwise.physics.line_cells import cut
from lengthwise.physics.line_ladder import admittance
from lengthwise.physics.line_tips import tips_of

OMEGA = 2 * np.pi * METER_HZ


# --- a uniform line has a closed form ---------------------------------------------------------


def uniform_ohm(radius, length, tip_short, file_radius, liquid, m: Materials):
    """A tube with a cylindrical file, by hyperbolic functions (telegraph equation), at METER_HZ.

    With a file: φ - φp = A cosh γz from the orifice. Without: a line of length `tip_short` that
    ends in the tissue, 4r/ρ, and loads the other with (1/Z)(Y Z + tanh)/(1 + Y Z tanh).
    """
    jw = 1j * OMEGA
    interface = m.interface_s_per_m2 * jw**m.interface_alpha / 1e6
    dentine = (1 / m.dentine_ohm_m + jw * 8.8541878188e-12 * m.dentine_permittivity) / 1e3
    cementum = (1 / m.cementum_ohm_m2 + jw * m.cementum_f_per_m2) / 1e6
    wall = 2 * np.pi / (np.log(2.5 / radius) / dentine + 1 / (2.5 * cementum))
    file = 2 * np.pi * file_radius * interface
    free = liquid * 1e3 / (np.pi * radius**2)
    beside = liquid * 1e3 / (np.pi * (radius**2 - file_radius**2))

    own, gamma_free = np.sqrt(free / wall), np.sqrt(free * wall)
    end, turn = 4 * radius / (m.tissue_ohm_m * 1e3), np.tanh(gamma_free * tip_short)
    load = (end * own + turn) / (1 + end * own * turn) / own
    face = np.pi * file_radius**2 * interface

    span = length - tip_short
    gamma, z0 = np.sqrt(beside * (file + wall)), np.sqrt(beside / (file + wall))
    rest = file / (file + wall)
    # The current that arrives at the tip, -A/Z0 sinh, feeds the load, less what the face gives.
    a = (face - (load + face) * rest) / (
        np.sinh(gamma * span) / z0 + (load + face) * np.cosh(gamma * span)
    )
    at_tip = rest + a * np.cosh(gamma * span)
    side = file * ((1 - rest) * span - a * np.sinh(gamma * span) / gamma)
    return m.body_ohm + 1 / (side + face * (1 - at_tip))


MATERIALS = (
    Materials(),
    Materials(dentine_ohm_m=150.0, cementum_ohm_m2=0.01, cementum_f_per_m2=1e-4),
    Materials(interface_s_per_m2=0.05, interface_alpha=0.75, tissue_ohm_m=5.0),
)


@pytest.mark.parametrize("tip_short", [0.0, 0.4, 3.0, 12.0])
@pytest.mark.parametrize("materials", MATERIALS)
@pytest.mark.parametrize("liquid", [0.09, 1.5])
def test_a_uniform_canal_meets_its_closed_form(materials, liquid, tip_short):
    found, fine = (
        impedance_ohm(
            tube(0.3), File(0.2, 0.0), Filling(liquid), materials, -tip_short, cells=cells
        )[0, 0]
        for cells in (120, 2000)
    )
    expected = uniform_ohm(0.3, 15.0, tip_short, 0.1, liquid, materials)
    np.testing.assert_allclose(fine, expected, rtol=1e-6)
    np.testing.assert_allclose(found, expected, rtol=1e-3)
    assert quotient(found) == pytest.approx(quotient(expected), abs=1e-4)


# --- other people's circuit solvers on the same ladder ------------------------------------------

LADDER_CASES = [
    (Filling(0.56), Materials()),
    (Filling(1.5, level_mm=2.0), Materials(dentine_ohm_m=150.0)),
    (Filling(0.09, flooded_ohm=800.0), Materials(cementum_f_per_m2=1e-4)),
]
TIPS_MM = (-4.0, -0.9, -0.2, 0.5)


@pytest.mark.ngspice
@pytest.mark.parametrize(("filling", "materials"), LADDER_CASES)
@pytest.mark.parametrize("which", [0, 1], ids=["low", "high"])
def test_ngspice_finds_the_same_admittance_of_the_same_ladder(filling, materials, which):
    """ngspice, batch mode, alternating current at one frequency: each admittance as R beside C."""
    same = ladders(canine(), File(0.15), filling, materials, TIPS_MM, METER_HZ, 80)
    theirs = by_ngspice(same, which, METER_HZ[which])
    np.testing.assert_allclose(admittance(same)[which], theirs, rtol=1e-6)


@pytest.mark.parametrize(("filling", "materials"), LADDER_CASES)
def test_elimination_node_by_node_finds_the_same_admittance(filling, materials):
    same = ladders(canine(), File(0.15), filling, materials, TIPS_MM, METER_HZ, 80)
    plain = [[by_hand(same, f, i) for i in range(len(TIPS_MM))] for f in (0, 1)]
    np.testing.assert_allclose(admittance(same), plain, rtol=1e-9)


def test_a_ladder_with_one_wrong_resistance_is_told_apart():
    same = ladders(canine(), File(0.15), Filling(0.56), Materials(), TIPS_MM, METER_HZ, 80)
    right = admittance(same)[0, 0]
    same.series_ohm[-10] *= 1.01  # in the middle between constriction and foramen
    assert abs(by_hand(same, 0, 0) / right - 1) > 1e-5


@pytest.mark.slow
def test_the_package_impedance_finds_the_same_of_a_ladder_without_a_wall():
    """`impedance` 1.7 (Murbach et al. 2020, JOSS 5:2349): nested resistances and CPEs."""
    circuits = pytest.importorskip("impedance.models.circuits")
    materials = Materials(**NO_WALL)
    same = ladders(canine(), File(0.15), Filling(0.56), materials, [-1.0], METER_HZ, 24)
    factors = (same.to_file[:, 0, 0] / (1j * OMEGA[0]) ** materials.interface_alpha).real
    text, values = "CPE0", [factors[0], materials.interface_alpha]
    for k, ohm in enumerate(same.series_ohm[:, 0], start=1):
        text, values = f"R{k}-{text}", [ohm, *values]
        if factors[k] > 0:
            text = f"p(CPE{k},{text})"
            values = [factors[k], materials.interface_alpha, *values]
    text, values = f"R0-{text}", [1 / same.to_tissue[-1, 0, 0].real, *values]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns that nothing was fitted, as is meant
        theirs = circuits.CustomCircuit(text, initial_guess=values).predict(
            METER_HZ, use_initial=True
        )
    np.testing.assert_allclose(1 / admittance(same)[:, 0], theirs, rtol=1e-6)


# --- computed values (checked with `impedance`); tolerance: the last printed digit ----------------


def series_below(shape, liquid_s_per_m, tip_past):
    """Resistance between tip and foramen, and of the tissue beyond, without a wall."""
    tips = tips_of(
        shape, File(0.01, 0.0), Filling(1 / liquid_s_per_m),
        Materials(tissue_ohm_m=1 / liquid_s_per_m), np.array([[tip_past]]), OMEGA,
    )  # fmt: skip
    line = cut(shape, tips, 100)
    return line.series_ohm[line.tip_node[0] :, 0].sum(), 1 / line.end_siemens[0]


def test_a_cylinder_of_liquid_has_the_computed_resistance():
    inside, _ = series_below(tube(0.15), 1.6, -1.0)
    assert inside == pytest.approx(8841.9413, abs=0.5e-4)


def test_a_cone_of_liquid_has_the_computed_resistance():
    cone = LineShape(np.array([[0.0, 2.0]]), np.array([[0.15, 0.25]]), np.full((1, 2), 2.5))
    inside, _ = series_below(cone, 2.0, -2.0)
    assert inside == pytest.approx(8488.2636, abs=0.5e-4)


def test_the_tissue_beyond_a_foramen_has_the_resistance_of_a_disc():
    """Newman 1966, J. Electrochem. Soc. 113:501: ρ/(4r)."""
    _, beyond = series_below(tube(0.15), 1.79, 0.0)
    assert beyond == pytest.approx(931.099, abs=0.5e-3)


def test_a_pore_has_the_computed_resistance_with_both_its_ends():
    inside, beyond = series_below(tube(0.15), 1.79, -0.5)
    assert inside + 2 * beyond == pytest.approx(5813.9, abs=0.05)


def test_the_way_into_the_tissue_is_that_of_a_disc_wherever_it_is_cut():
    """A thin rod of insulator: the hemispheres before and beyond its tip are the whole disc."""
    tips = tips_of(
        tube(0.15), File(0.001, 0.0), Filling(1.0), Materials(tissue_ohm_m=1 / 1.79),
        np.array([[0.2, 1.0, 3.0]]), OMEGA,
    )  # fmt: skip
    line = cut(tube(0.15), tips, 1000)
    beyond = np.where(line.wall_mm == 0, line.series_ohm, 0.0).sum(axis=0) + 1 / line.end_siemens
    np.testing.assert_allclose(beyond, 931.099, rtol=2e-5)


def test_a_resistance_with_a_constant_phase_element_has_the_computed_magnitudes():
    nothing_else = Filling(1e15, contact_ohm=2000.0, contact_mm2=1.0)
    element = Materials(interface_s_per_m2=1.0, interface_alpha=0.8, body_ohm=0.0, **NO_WALL)
    z = impedance_ohm(tube(0.2), File(0.15, 0.0), nothing_else, element, -10.0)
    np.testing.assert_allclose(np.abs(z[0, 0]), [3159.4006, 2060.1846], atol=0.5e-4)
    assert quotient(z)[0, 0] == pytest.approx(0.6520808507, abs=0.5e-10)


# --- a rod in the ground --------------------------------------------------------------------------


@pytest.mark.parametrize("exposed_mm", [0.25, 0.5, 1.0, 2.0])
def test_a_rod_that_conducts_perfectly_is_within_7_percent_of_a_ground_rod(exposed_mm):
    """ρ (ln(4e/a) - 1)/(2πe) (Dwight 1936, from memory); a size 15 in a foramen of 0.30 mm."""
    perfect = Materials(interface_s_per_m2=1e9, tissue_ohm_m=1.0, body_ohm=0.0, **NO_WALL)
    z = impedance_ohm(tube(0.15), File(0.15, 0.0), Filling(1.0), perfect, exposed_mm, [400.0])
    rod = 1e3 * (np.log(4 * exposed_mm / 0.075) - 1) / (2 * np.pi * exposed_mm)
    assert abs(z[0, 0, 0]) == pytest.approx(rod, rel=0.07)
