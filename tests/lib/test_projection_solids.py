"""Attenuation against xraydb, and path lengths against solids that can be worked out by hand."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from lengthwise.physics.attenuation import attenuation_per_mm, exposed, transmitted
from lengthwise.physics.projection import View, in_room
from lengthwise.physics.solids import Receptor, Solid, path_length_mm
from lengthwise.reference.files import read_rows

MAKE = Path(__file__).resolve().parents[2] / "datasets" / "make" / "attenuation.py"
ALONG = np.linspace(0.0, 20.0, 401)
ZERO = 0.0 * ALONG


@pytest.fixture(scope="module")
def make() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_attenuation", MAKE)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_attenuation"] = module
    spec.loader.exec_module(module)
    return module


def test_the_table_is_what_its_script_makes(make: ModuleType) -> None:
    made = [{name: str(value) for name, value in row.items()} for row in make.rows()]
    assert made == [dict(row) for row in read_rows("attenuation")]


@pytest.mark.parametrize("energy_kev", [22.0, 33.0, 35.0, 42.0, 57.0])
def test_a_slab_weakens_the_beam_as_xraydb_says(make: ModuleType, energy_kev: float) -> None:
    """Slabs of three materials; enamel also by xraydb's own parser of formulas."""
    import xraydb

    for name, thickness_mm in (("steel", 0.3), ("enamel", 2.0), ("soft_tissue", 30.0)):
        theirs = make.per_mm(make.MATERIALS[name], energy_kev)
        ours = transmitted(np.array(attenuation_per_mm(name, energy_kev) * thickness_mm))
        # Between the table's energies the log-log line is good to two parts in a thousand.
        assert float(ours) == pytest.approx(np.exp(-theirs * thickness_mm), rel=0.002)
    apatite, water = (
        float(xraydb.material_mu(formula, 1000 * energy_kev, density=2.9)) / 10
        for formula in ("Ca5P3O13H", "H2O")
    )
    # Its one percent of collagen is nearly water to the beam.
    by_formula = 0.96 * apatite + 0.04 * water
    assert attenuation_per_mm("enamel", energy_kev) == pytest.approx(by_formula, rel=0.005)


def test_what_is_mineral_shows_brighter_than_what_is_soft() -> None:
    names = ("soft_tissue", "cancellous_bone", "cortical_bone", "dentine", "enamel", "steel")
    values = [attenuation_per_mm(name, 35.0) for name in names]
    assert values == sorted(values)


def test_nothing_at_run_time_needs_xraydb() -> None:
    library = Path(__file__).resolve().parents[2] / "lib" / "lengthwise"
    assert not [path for path in library.rglob("*.py") if "import xraydb" in path.read_text("utf8")]


@pytest.mark.parametrize(
    ("arguments", "field"), [(("gold", 35.0), "material"), (("enamel", 70.0), "energy_kev")]
)
def test_what_the_table_does_not_have_is_refused(arguments: tuple[str, float], field: str) -> None:
    with pytest.raises(ValueError, match=rf"field {field}: got .*allowed"):
        attenuation_per_mm(*arguments)


def cylinder(half_distal: float, half_buccal: float) -> Solid:
    return Solid(ALONG, ZERO, ZERO, ZERO + half_distal, ZERO + half_buccal)


def test_an_elliptic_cylinder_gives_its_chords() -> None:
    receptor = Receptor(10.0, 8.0, 0.1)
    view = View(1e7, 10.0, pivot_mm=10.0)
    found = path_length_mm(cylinder(3.0, 2.0), view, receptor, layers=2000)[40]
    edges = np.append(receptor.columns_mm - 0.05, receptor.columns_mm[-1] + 0.05).clip(-3, 3) / 3
    area = 3 * 2 * (np.arcsin(edges) + edges * np.sqrt(1 - edges**2))  # integral of the chord
    assert found == pytest.approx(np.diff(area) / 0.1, abs=0.003)


def test_a_beam_that_slants_runs_further() -> None:
    receptor = Receptor(1.0, 1.0, 0.1)
    slab = cylinder(300.0, 2.0)
    straight = path_length_mm(slab, View(1e7, 10.0, pivot_mm=10.0), receptor, layers=2000)
    for axis, beam, side in ((0.0, 30.0, 0.0), (0.0, 0.0, 30.0), (30.0, 30.0, 0.0)):
        view = View(1e7, 10.0, axis, beam, side, pivot_mm=10.0)
        centre = (-10.0 * np.tan(np.radians(side)), 10.0 * np.tan(np.radians(beam)))
        found = path_length_mm(slab, view, Receptor(1.0, 1.0, 0.1, centre), layers=2000)
        across = np.cos(np.radians(axis - beam)) * np.cos(np.radians(side))
        assert found[5, 5] / straight[5, 5] == pytest.approx(1 / across, rel=0.01)


def marched(solid: Solid, view: View, receptor: Receptor, steps: int) -> np.ndarray:
    """The same by brute force: walk along every ray and ask at each step whether it is inside."""
    x, y = np.meshgrid(receptor.columns_mm, receptor.rows_mm)
    foot = np.stack([x, y, 0 * x], axis=-1)
    source = view.source_mm
    found = np.zeros(receptor.shape)
    origin, axes = in_room(view, 0.0, 0.0, 0.0), np.eye(3)
    to_tooth = np.stack([in_room(view, *axis) - origin for axis in axes])
    reach = np.linalg.norm(source - foot, axis=-1) / source[2]
    low, high = view.tooth_receptor_mm - 12.0, view.tooth_receptor_mm + 12.0
    for height in low + (high - low) * (np.arange(steps) + 0.5) / steps:
        point = foot + (source - foot) * (height / source[2])
        along, distal, buccal = np.moveaxis((point - origin) @ to_tooth.T, -1, 0)
        values = [
            np.interp(along, solid.along_mm, each, left=0, right=0)
            for each in (
                solid.distal_mm, solid.buccal_mm, solid.half_distal_mm, solid.half_buccal_mm,
            )
        ]  # fmt: skip
        with np.errstate(divide="ignore", invalid="ignore"):
            inside = ((distal - values[0]) / values[2]) ** 2 + (
                (buccal - values[1]) / values[3]
            ) ** 2 < 1
        found += inside * reach * (high - low) / steps
    return found


def bent_root() -> Solid:
    taper = np.sqrt(np.clip(1 - ALONG / 20.0, 0, None))
    return Solid(ALONG, 0.01 * ALONG**2, 0.05 * ALONG, 3.0 * taper, 4.0 * taper)


def test_layers_agree_with_walking_along_every_ray() -> None:
    view = View(200.0, 12.0, 25.0, 15.0, 20.0, 8.0)
    receptor = Receptor(22.0, 26.0, 0.4, (-4.0, 3.0))
    by_layers = path_length_mm(bent_root(), view, receptor, layers=300)
    by_steps = marched(bent_root(), view, receptor, 600)
    assert by_steps.max() > 6.0
    difference = by_layers - by_steps
    # At the rim a pixel is partly covered, which walking along its middle cannot say.
    assert np.sqrt((difference**2).mean()) < 0.06
    assert np.abs(difference[by_steps > 4.0]).max() < 0.25


def test_more_layers_change_nothing_that_shows() -> None:
    view = View(400.0, 20.0, 10.0, 5.0, 10.0, 10.0)
    receptor = Receptor(20.0, 26.0, 0.13)
    few, many = (
        path_length_mm(bent_root(), view, receptor, layers=layers) for layers in (96, 1500)
    )
    assert np.sqrt(((few - many) ** 2).mean()) < 0.02


@pytest.mark.parametrize(
    ("view", "layers", "words"),
    [
        (
            View(400.0, 20.0, -45.0, 60.0, pivot_mm=10.0),
            40,
            "field axis_deg/beam_deg: got -45 and 60",
        ),
        (View(400.0, 20.0, pivot_mm=10.0), 0, "field layers: got 0; allowed is 1 or more"),
    ],
)
def test_no_ray_has_a_length_below_nothing(view: View, layers: int, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        path_length_mm(bent_root(), view, Receptor(20.0, 26.0, 0.5), layers=layers)


def test_grown_goes_round_the_end_and_leaves_the_crown_alone() -> None:
    grown = bent_root().grown(0.2, beyond_mm=5.0)
    assert not grown.half_distal_mm[grown.along_mm <= 5.0].any()
    assert np.interp(12.0, grown.along_mm, grown.half_distal_mm) == pytest.approx(
        0.2 + np.interp(12.0, ALONG, bent_root().half_distal_mm), abs=1e-6
    )
    assert grown.along_mm[grown.half_distal_mm > 0].max() == pytest.approx(20.2, abs=0.11)


def test_photon_noise_has_the_mean_and_the_spread_of_counting() -> None:
    share = np.full((300, 300), 0.2)
    seen = exposed(share, photons_per_pixel=2500.0, unsharpness_px=0.7,
                   rng=np.random.default_rng(3))  # fmt: skip
    counts = seen * 2500.0
    expected = 500.0
    assert counts.mean() == pytest.approx(expected, abs=4 * np.sqrt(expected / counts.size))
    assert counts.var() / expected == pytest.approx(1.0, abs=4 * np.sqrt(2 / counts.size))
    again = exposed(share, photons_per_pixel=2500.0, unsharpness_px=0.7,
                    rng=np.random.default_rng(3))  # fmt: skip
    assert (again == seen).all()
