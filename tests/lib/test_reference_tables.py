"""Teeth and canals are looked up in FDI notation, and every answer says where it is from."""

import pytest
from lengthwise.reference import files, tables
from lengthwise.reference.quantity import STATUSES

ALL_TEETH = tables.fdi_codes()
EVERY_CANAL = [(fdi, canal) for fdi in ALL_TEETH for canal in tables.tooth(fdi).canals]


def test_there_are_thirty_two_teeth_and_each_has_its_own_universal_number():
    assert sorted(tables.tooth(fdi).universal for fdi in ALL_TEETH) == list(range(1, 33))


@pytest.mark.parametrize(
    ("fdi", "universal", "name"),
    # ISO 3950 beside the Universal numbering: corners of the four quadrants. Common practice.
    [
        ("18", 1, "upper right third molar"),
        ("11", 8, "upper right central incisor"),
        ("21", 9, "upper left central incisor"),
        ("28", 16, "upper left third molar"),
        ("38", 17, "lower left third molar"),
        ("31", 24, "lower left central incisor"),
        ("41", 25, "lower right central incisor"),
        ("48", 32, "lower right third molar"),
        ("13", 6, "upper right canine"),
        ("23", 11, "upper left canine"),
        ("36", 19, "lower left first molar"),
    ],
)
def test_fdi_and_universal_numbers_name_the_same_tooth(fdi, universal, name):
    described = tables.tooth(fdi)
    assert (described.universal, described.name) == (universal, name)


@pytest.mark.parametrize("fdi", ALL_TEETH)
def test_left_and_right_are_mirror_images(fdi):
    mirrored = {"1": "2", "2": "1", "3": "4", "4": "3"}[fdi[0]] + fdi[1]
    for canal in tables.tooth(fdi).canals:
        assert tables.canal_length(fdi, canal) == tables.canal_length(mirrored, canal)
    assert tables.apex_distance(fdi) == tables.apex_distance(mirrored)


@pytest.mark.parametrize("wrong", ["19", "51", "9", "", "1", "113", "canine", "1 3", "0x", "1³"])
def test_a_tooth_outside_fdi_notation_is_refused_with_what_is_allowed(wrong):
    with pytest.raises(ValueError, match="is not in FDI notation; allowed are 11-18, 21-28"):
        tables.tooth(wrong)


def test_a_canal_that_the_tooth_lacks_is_refused_with_those_it_has():
    with pytest.raises(ValueError, match=r"'MB' is not listed for tooth 13 .*allowed are single"):
        tables.canal_length("13", "MB")


def test_an_unknown_table_is_refused_with_those_there_are():
    with pytest.raises(ValueError, match=r"no table 'teath'; allowed are .*teeth"):
        files.read_rows("teath")


@pytest.mark.parametrize("folder", ["../secrets", "teeth.csv", "/etc/passwd"])
def test_a_table_name_cannot_lead_out_of_the_folder(folder):
    with pytest.raises(ValueError, match="there is no table"):
        files.read_rows(folder)


@pytest.mark.parametrize("fdi", ALL_TEETH)
def test_a_spread_fits_inside_its_published_range(fdi):
    """The largest and smallest of some 280 teeth lie about 2.9 SD from the mean.

    (Expected range of a normal sample of 280: 5.8 SD.) The range may be stretched by a few odd
    teeth, so an SD may be well below range/5.8, yet never much above it.
    """
    described = tables.tooth(fdi)
    span = described.overall_max_mm - described.overall_min_mm
    assert described.overall_min_mm < described.overall_mean_mm < described.overall_max_mm
    assert span / 9 < described.overall_sd_mm < span / 4.5
    assert described.overall_mean_mm - 1.8 * described.overall_sd_mm > described.overall_min_mm


@pytest.mark.parametrize("fdi", ALL_TEETH)
def test_an_assumed_spread_lies_in_its_own_range(fdi):
    described = tables.tooth(fdi)
    distance = tables.apex_distance(fdi)
    for status, low, value, high in (
        (
            described.overall_sd_status,
            described.overall_sd_low_mm,
            described.overall_sd_mm,
            described.overall_sd_high_mm,
        ),
        (distance.sd_status, distance.sd_low_mm, distance.sd_mm, distance.sd_high_mm),
    ):
        if status == "assumption":
            assert low < value < high


@pytest.mark.parametrize(("fdi", "canal"), EVERY_CANAL)
def test_a_canal_length_is_the_tooth_less_what_its_root_lacks(fdi, canal):
    described = tables.tooth(fdi)
    spread = tables.canal_length(fdi, canal)
    assert spread.min_mm < spread.mean_mm < spread.max_mm
    assert 0 <= described.overall_mean_mm - spread.mean_mm < 2
    assert spread.sd_mm == described.overall_sd_mm
    assert spread.status == "derived"
    assert described.status in spread.source


@pytest.mark.parametrize("fdi", ALL_TEETH)
def test_some_canal_reaches_the_full_length_of_the_tooth(fdi):
    described = tables.tooth(fdi)
    longest = max(tables.canal_length(fdi, canal).mean_mm for canal in described.canals)
    assert longest == described.overall_mean_mm


def test_a_shorter_root_has_a_shorter_canal():
    # Upper first molar roots 13.7 and 12.2 mm, overall 20.1 mm (Scheid & Weiss, from memory):
    # this checks our subtraction, not the figures.
    palatal, distal = (tables.canal_length("16", canal).mean_mm for canal in ("P", "DB"))
    assert palatal - distal == pytest.approx(13.7 - 12.2)


@pytest.mark.parametrize("fdi", ALL_TEETH)
def test_every_answer_carries_a_source_and_a_status(fdi):
    described = tables.tooth(fdi)
    answers = [described, tables.apex_distance(fdi)]
    answers += [tables.canal_length(fdi, canal) for canal in described.canals]
    answers += tables.outcomes()
    for answer in answers:
        assert answer.source, answer
        assert answer.status in STATUSES, answer


def test_the_foramen_lies_further_from_the_apex_in_back_teeth():
    # Martos et al. 2009, Int Endod J: 0.39 anterior, 0.82 posterior (seen, to 0.01 mm).
    assert tables.apex_distance("13").mean_mm == pytest.approx(0.39, abs=0.005)
    assert tables.apex_distance("46").mean_mm == pytest.approx(0.82, abs=0.005)


def test_the_lower_canine_has_figures_of_its_own():
    # Versiani et al. 2013, Int Endod J: 0.27 +/- 0.25 (seen, to 0.01 mm).
    distance = tables.apex_distance("33")
    assert (distance.mean_mm, distance.sd_mm) == pytest.approx((0.27, 0.25), abs=0.005)
    assert distance.sd_status == "seen"


def test_magnification_is_focus_distance_over_the_rest():
    # f/(f - d), printed to three decimals.
    for row in files.read_rows("magnification"):
        focus, tooth = float(row["focus_to_receptor_mm"]), float(row["tooth_to_receptor_mm"])
        assert float(row["magnification_ratio"]) == pytest.approx(
            focus / (focus - tooth), abs=0.0005
        )


def test_shortening_to_the_flare_is_the_difference_of_the_printed_rows():
    # Davis, Marshall & Baumgartner 2002, J Endod 28:438 (seen, to 0.01 mm).
    rows = {row["id"]: float(row["mean_mm"]) for row in files.read_rows("shortening")}
    for material in ("steel", "niti"):
        whole, later = rows[f"davis_{material}_all"], rows[f"davis_{material}_shaping"]
        assert rows[f"davis_{material}_flare"] == pytest.approx(whole - later, abs=0.005)


def test_directions_of_the_foramen_add_up_to_every_root():
    shares = {row["id"]: float(row["share"]) for row in files.read_rows("apical_shares")}
    directions = ("foramen_at_tip_martos", "direction_buccal", "direction_distal")
    total = sum(shares[name] for name in (*directions, "direction_lingual_mesial"))
    assert total == pytest.approx(1)


def test_the_lengths_a_student_meets_first_are_near_a_second_handbook():
    # Upper canine: total 27.0 mm in Ash & Nelson, Wheeler's (second-hand); 26.0 in Ingle & Bakland
    # (seen, quoted). Handbooks measured different teeth, so the tolerance is 1 mm.
    assert tables.tooth("13").overall_mean_mm == pytest.approx(27.0, abs=1)
    assert tables.tooth("13").overall_mean_mm == pytest.approx(26.0, abs=1)


def test_records_cannot_be_changed_by_their_reader():
    with pytest.raises(AttributeError):
        tables.tooth("13").crown_mm = 1.0
    with pytest.raises(TypeError):
        files.read_rows("teeth")[0]["crown_mm"] = "1"
