"""Canals and teeth: what must hold for every one that is drawn, and what is refused."""

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lengthwise.anatomy import assumptions
from lengthwise.anatomy.canals import Canals, by_age, draw_canals, share_at_tip
from lengthwise.anatomy.lengths import beta_of
from lengthwise.anatomy.teeth import canal_or_longest, outline
from lengthwise.anatomy.widths import width_group
from lengthwise.bench.patient import Patient
from lengthwise.reference.files import read_rows
from lengthwise.reference.tables import canal_length, fdi_codes, tooth

EVERY_CANAL = [(fdi, canal) for fdi in fdi_codes() for canal in tooth(fdi).canals]
ARRAYS = [f.name for f in fields(Canals) if f.name not in ("fdi", "canal")]
drawn = st.builds(
    lambda which, n, seed: draw_canals(which[0], n, np.random.default_rng(seed), canal=which[1]),
    st.sampled_from(EVERY_CANAL),
    st.integers(1, 60),
    st.integers(0, 2**32),
)


@settings(deadline=None, max_examples=120)
@given(drawn)
def test_landmarks_keep_their_order_in_every_canal_of_every_tooth(canals: Canals) -> None:
    spread = canal_length(canals.fdi, canals.canal)
    assert np.all((canals.cej_mm > 0) & (canals.cej_mm < canals.constriction_mm))
    assert np.all(canals.constriction_mm < canals.foramen_mm)
    assert np.all(canals.foramen_mm <= canals.apex_mm)
    assert np.all((canals.apex_mm >= spread.min_mm) & (canals.apex_mm <= spread.max_mm))


@settings(deadline=None, max_examples=60)
@given(drawn)
def test_a_foramen_lies_on_the_outside_of_the_root_and_is_not_narrower_than_the_constriction(
    canals: Canals,
) -> None:
    assert np.all(canals.constriction_diameter_mm <= canals.foramen_diameter_mm)
    assert np.all((canals.foramen_angle_deg >= 0) & (canals.foramen_angle_deg <= 70))
    for i in range(min(len(canals), 5)):
        one = canals.one(i)
        outside = outline(one.fdi, one.canal)
        md, bl = outside.root_half_widths(one.apex_mm - one.foramen_mm, one.apex_mm - one.cej_mm)
        assert np.hypot(one.offset_distal_mm / md, one.offset_buccal_mm / bl) == pytest.approx(1)


@settings(deadline=None, max_examples=60)
@given(drawn)
def test_every_array_has_one_finite_value_a_canal(canals: Canals) -> None:
    for name in ARRAYS:
        values = getattr(canals, name)
        shape = (len(canals), 3) if name.startswith("diameter_") else (len(canals),)
        assert values.shape == shape, name
        assert np.all(np.isfinite(values)), name


@settings(deadline=None, max_examples=30)
@given(st.sampled_from(EVERY_CANAL), st.integers(0, 2**32))
def test_one_seed_gives_one_population(which: tuple[str, str], seed: int) -> None:
    first, again, other = (
        draw_canals(which[0], 20, np.random.default_rng(s), canal=which[1])
        for s in (seed, seed, seed + 1)
    )
    for name in ARRAYS:
        assert np.array_equal(getattr(first, name), getattr(again, name)), name
    assert not np.array_equal(first.apex_mm, other.apex_mm)


def test_a_canal_taken_out_of_many_has_the_same_numbers() -> None:
    canals = draw_canals("13", 7, np.random.default_rng(3))
    one = canals.one(4)
    assert one.foramen_mm == canals.foramen_mm[4]
    assert one.diameter_md_mm == tuple(canals.diameter_md_mm[4])
    with pytest.raises(IndexError):
        canals.one(7)


def test_drawing_many_is_drawing_one_many_times() -> None:
    together = draw_canals("46", 4000, np.random.default_rng(1), canal="D")
    rng = np.random.default_rng(2)
    singly = [draw_canals("46", 1, rng, canal="D").one(0) for _ in range(4000)]
    for name in ("apex_mm", "foramen_mm", "constriction_mm", "curvature_deg", "offset_buccal_mm"):
        many, one = getattr(together, name), np.array([getattr(c, name) for c in singly])
        assert abs(many.mean() - one.mean()) < 5 * np.hypot(many.std(), one.std()) / 63, name
        assert one.std() == pytest.approx(many.std(), rel=0.08), name


@pytest.mark.parametrize("fdi", fdi_codes())
def test_lengths_have_the_mean_and_the_spread_of_the_table(fdi: str) -> None:
    # 20 000 canals: the mean is known to 0.016 mm, the SD to 0.011 mm.
    canals = draw_canals(fdi, 20_000, np.random.default_rng(5))
    spread = canal_length(fdi, canals.canal)
    assert canals.apex_mm.mean() == pytest.approx(spread.mean_mm, abs=0.07)
    assert canals.apex_mm.std() == pytest.approx(spread.sd_mm, abs=0.05)


def test_a_long_upper_canine_is_longer_than_a_short_one_is_short() -> None:
    low, high, a, b = beta_of("13", "single")
    assert high - 26.4 > 26.4 - low
    assert a < b


def test_crown_and_root_vary_apart_and_add_up_to_the_tooth() -> None:
    canals = draw_canals("13", 20_000, np.random.default_rng(6))
    root = canals.apex_mm - canals.cej_mm
    assert abs(np.corrcoef(canals.cej_mm, root)[0, 1]) < 0.03
    assert canals.cej_mm.std() == pytest.approx(assumptions.CROWN_SD_MM.value, rel=0.03)


def test_age_moves_the_constriction_and_the_foramen_but_not_the_length() -> None:
    young, old = (
        draw_canals("13", 5000, np.random.default_rng(7), age_years=age) for age in (20, 70)
    )
    assert np.array_equal(young.apex_mm, old.apex_mm)
    assert np.all(young.foramen_mm - young.constriction_mm < old.foramen_mm - old.constriction_mm)
    assert np.all(young.foramen_diameter_mm < old.foramen_diameter_mm)
    assert by_age("foramen_diameter", np.array([40.0]))[0] == pytest.approx((0.502 + 0.681) / 2)


def test_who_looks_more_finely_finds_fewer_foramina_at_the_tip() -> None:
    shares = [share_at_tip("16", mm) for mm in (0.0, 0.1, 0.4, 1.0, 3.0)]
    assert shares == sorted(shares)
    assert (share_at_tip("16", -1.0), share_at_tip("16", 5.0)) == (0.0, 1.0)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    counted = draw_canals("16", 20_000, np.random.default_rng(8))
    within = np.mean(counted.apex_mm - counted.foramen_mm < 0.4)
    assert within == pytest.approx(shares[2], abs=0.015)


def test_canal_widths_stay_inside_the_published_range() -> None:
    # Wu et al. 2000, Oral Surg 89:739, upper canine 1 mm from the apex (second-hand).
    canals = draw_canals("23", 20_000, np.random.default_rng(9))
    for widths, low, high in (
        (canals.diameter_bl_mm, 0.16, 0.58),
        (canals.diameter_md_mm, 0.11, 0.50),
    ):
        assert low <= widths[:, 0].min() <= low + 0.02
        assert high - 0.02 <= widths[:, 0].max() <= high


def test_an_upper_canine_is_curved_no_more_than_published() -> None:
    # 0-33 degrees in the proximal view (second-hand).
    assert draw_canals("13", 5000, np.random.default_rng(1)).curvature_deg.max() <= 33
    assert draw_canals("12", 5000, np.random.default_rng(1)).curvature_deg.max() > 60


def test_a_curved_canal_loses_more_length_than_a_straight_one() -> None:
    canals = draw_canals("46", 5000, np.random.default_rng(4))
    lost = canals.shortening_flare_mm + canals.shortening_shaping_mm
    bent = canals.curvature_deg > np.median(canals.curvature_deg)
    assert lost[bent].mean() > 1.5 * lost[~bent].mean()
    assert np.all(lost >= 0)


@pytest.mark.parametrize(("fdi", "canal"), EVERY_CANAL)
def test_every_canal_has_widths_to_be_drawn_from(fdi: str, canal: str) -> None:
    groups = {row["group"] for row in read_rows("canal_diameters")}
    assert width_group(fdi, canal) in groups


@pytest.mark.parametrize(("fdi", "canal"), EVERY_CANAL)
def test_an_outline_closes_at_both_ends_and_is_widest_in_the_crown(fdi: str, canal: str) -> None:
    outside = outline(fdi, canal)
    z = np.linspace(-1, outside.length_mm + 1, 800)
    widths = outside.widths(z)
    for half, crown, cervix in (
        (widths.enamel_md_mm, outside.crown_md_mm, outside.cervix_md_mm),
        (widths.enamel_bl_mm, outside.crown_bl_mm, outside.cervix_bl_mm),
    ):
        assert half.max() == pytest.approx(crown / 2, abs=0.02)
        assert np.all(half[(z < 0) | (z > outside.length_mm)] == 0)
        assert np.interp(outside.cej_mm, z, half) == pytest.approx(cervix / 2, abs=0.02)
        assert np.abs(np.diff(half[z > outside.cej_mm][:-60])).max() < 0.1
    assert np.all(widths.dentine_md_mm <= widths.enamel_md_mm)
    below = z > outside.cej_mm
    assert np.array_equal(widths.dentine_bl_mm[below], widths.enamel_bl_mm[below])


def test_an_outline_follows_the_length_of_its_tooth() -> None:
    outside = outline("13")
    scaled = outside.widths([29.9, 30.1], length_mm=30.0, cej_mm=11.0)
    assert scaled.dentine_md_mm[0] > 0
    assert scaled.dentine_md_mm[1] == 0
    at_cervix = outside.widths([11.0], length_mm=30.0, cej_mm=11.0).dentine_md_mm[0]
    assert at_cervix == pytest.approx(outside.cervix_md_mm / 2)


def test_the_outline_of_a_mean_tooth_is_as_long_as_its_canal() -> None:
    for fdi, canal in EVERY_CANAL:
        assert outline(fdi, canal).length_mm == pytest.approx(canal_length(fdi, canal).mean_mm)
        assert outline(fdi, canal).universal == tooth(fdi).universal


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda rng: draw_canals("19", 5, rng), "tooth 19 is not in FDI notation; allowed are 11"),
        (lambda rng: draw_canals("13", 5, rng, canal="MB"), "'MB' is not listed for tooth 13"),
        (lambda rng: draw_canals("13", 0, rng), "field n: got 0; allowed is 1 or more"),
        (
            lambda rng: draw_canals("13", 5, rng, age_years=9),
            "field age_years: got 9; allowed is",
        ),
        (lambda rng: Patient("53", rng), "tooth 53 is not in FDI notation"),
        (lambda rng: Patient("36", rng, canal="single"), "allowed are MB, ML, M, D, DB, DL"),
        (
            lambda rng: outline("13").widths([1.0], length_mm=20.0, cej_mm=21.0),
            "field cej_mm: got",
        ),
        (lambda rng: canal_or_longest("13", ""), "canal '' is not listed"),
    ],
)
def test_bad_input_is_refused_with_what_is_allowed(call, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call(np.random.default_rng(1))


def test_a_patient_is_one_canal_of_the_population() -> None:
    patient = Patient("36", np.random.default_rng(11), canal="D")
    expected = draw_canals("36", 1, np.random.default_rng(11), canal="D").one(0)
    assert (patient.canal, patient.outline.canal, patient.log) == (expected, "D", [])


def test_a_patient_writes_down_every_radiograph_and_hands_out_no_truth() -> None:
    patient = Patient("13", np.random.default_rng(3))
    before = patient.expose_film()
    during = patient.expose_film(file_length_mm=round(patient.canal.foramen_mm - 1, 1))
    assert patient.log == [before.record, during.record]
    assert [record.kind for record in patient.log] == ["preoperative_film", "working_film"]
    told = during.record.model_dump()
    assert not [value for value in told.values() if value in vars(patient.canal).values()]
    with pytest.raises(ValueError, match="file_length_mm"):
        patient.expose_film(file_length_mm=60.0)
    assert len(patient.log) == 2
