"""Every figure says where it is from and how far it was confirmed."""

import csv
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from types import SimpleNamespace

import pytest
from lengthwise import reference
from lengthwise.reference import constants, points, radiography
from lengthwise.reference.files import read_rows
from lengthwise.reference.quantity import STATUSES, Quantity

DATASETS = Path(__file__).resolve().parents[2] / "datasets"
VOCABULARY = {
    "seen",
    "second-hand",
    "from memory",
    "derived",
    "computed",
    "assumption",
    "common practice",
}


def problems_of_constants(namespace):
    """What is wrong with a module's figures, as sentences."""
    found = []
    for name, value in vars(namespace).items():
        if name.startswith("_") or isinstance(value, type):
            continue
        if isinstance(value, int | float):
            found.append(f"{name} is a bare number")
        if not hasattr(value, "value"):
            continue
        if not value.source.strip():
            found.append(f"{name} has no source")
        if value.status not in VOCABULARY:
            found.append(f"{name} has status {value.status!r}")
        if not value.unit.strip():
            found.append(f"{name} has no unit")
        if value.status == "assumption" and (value.low is None or value.high is None):
            found.append(f"{name} is an assumption without a range")
        elif value.low is not None and not value.low <= value.value <= value.high:
            found.append(f"{name} lies outside its own range")
    return found


def problems_of_table(rows):
    """What is wrong with a table's rows, as (row, sentence)."""
    found = []
    for number, row in enumerate(rows, start=2):  # row 1 is the header
        for status_name in [name for name in row if name.endswith("status")]:
            prefix = status_name.removesuffix("status")
            status, source = row[status_name], row[f"{prefix}source"]
            if prefix and not status and not source:
                continue  # the figure takes source and status of its row
            if not source.strip():
                found.append((number, f"{prefix}source is empty"))
            if status not in VOCABULARY:
                found.append((number, f"{status_name} is {status!r}"))
            if status == "assumption":
                names = [name.removesuffix("_low_mm") for name in row if name.endswith("_low_mm")]
                ranges = [(row[f"{n}_low_mm"], row[f"{n}_mm"], row[f"{n}_high_mm"]) for n in names]
                if not any(all(cells) for cells in ranges):
                    found.append((number, f"{status_name} is an assumption without a range"))
                elif not all(float(a) <= float(b) <= float(c) for a, b, c in ranges if a and c):
                    found.append((number, "an assumption lies outside its own range"))
    return found


MODULES = [
    *(f"lengthwise.reference.{found.name}" for found in iter_modules(reference.__path__)),
    "lengthwise.anatomy.assumptions",
]
WITH_FIGURES = [
    name
    for name in MODULES
    if any(isinstance(value, Quantity) for value in vars(import_module(name)).values())
]


@pytest.mark.parametrize("name", WITH_FIGURES)
def test_every_constant_has_a_unit_a_source_and_a_status(name):
    assert problems_of_constants(import_module(name)) == []


def test_the_modules_with_figures_are_found():
    assert {"lengthwise.reference.points", "lengthwise.anatomy.assumptions"} < set(WITH_FIGURES)


@pytest.mark.parametrize("path", sorted(DATASETS.glob("*.csv")), ids=lambda path: path.stem)
def test_every_row_of_every_table_has_a_source_and_a_status(path):
    with path.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert rows
    assert {"source", "status"} <= set(rows[0])
    assert problems_of_table(rows) == []


def test_the_library_and_the_design_use_the_same_words_for_status():
    assert set(STATUSES) == VOCABULARY


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"source": " "}, "X has no source"),
        ({"status": "certain"}, "X has status 'certain'"),
        ({"unit": ""}, "X has no unit"),
        ({"low": None}, "X is an assumption without a range"),
        ({"low": 1.5}, "X lies outside its own range"),
    ],
)
def test_the_check_of_constants_can_fail(change, complaint):
    good = {"value": 1, "unit": "mm", "source": "us", "status": "assumption", "low": 0, "high": 2}
    assert problems_of_constants(SimpleNamespace(X=SimpleNamespace(**good))) == []
    assert problems_of_constants(SimpleNamespace(X=SimpleNamespace(**good | change))) == [complaint]


def test_a_bare_number_among_the_constants_is_found():
    assert problems_of_constants(SimpleNamespace(X=0.3)) == ["X is a bare number"]


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"source": ""}, "source is empty"),
        ({"status": ""}, "status is ''"),
        ({"status": "Seen"}, "status is 'Seen'"),
        ({"sd_source": ""}, "sd_source is empty"),
        ({"sd_status": "perhaps"}, "sd_status is 'perhaps'"),
        ({"sd_low_mm": ""}, "sd_status is an assumption without a range"),
        ({"sd_high_mm": "0.1"}, "an assumption lies outside its own range"),
    ],
)
def test_the_check_of_tables_can_fail(change, complaint):
    good = {"mean_mm": "1", "source": "A 1999", "status": "seen", "sd_mm": "0.3"}
    good |= {"sd_low_mm": "0.2", "sd_high_mm": "0.4", "sd_source": "us", "sd_status": "assumption"}
    assert problems_of_table([good]) == []
    assert problems_of_table([good, good | change]) == [(3, complaint)]


@pytest.mark.parametrize(
    "change",
    [{"source": ""}, {"status": "certain"}, {"low": None}, {"low": 1.2, "high": 1.5}],
)
def test_a_quantity_without_source_status_or_range_cannot_be_made(change):
    good = {"value": 1.0, "unit": "mm", "source": "us", "status": "assumption"}
    good |= {"low": 0.0, "high": 2.0}
    Quantity(**good)
    with pytest.raises(ValueError, match=r"allowed|give the range"):
        Quantity(**good | change)


def in_table(table, name, column):
    (row,) = (row for row in read_rows(table) if row["id"] == name)
    return float(row[column])


def test_constants_agree_with_the_tables_they_were_taken_from():
    films = ("paralleling", "bisecting")
    for film, bias in zip(
        films,
        (constants.FILM_BIAS_PARALLELING_MM, constants.FILM_BIAS_BISECTING_MM),
        strict=True,
    ):
        row = ("radiograph", f"read_{film}")
        read, true = (
            in_table(*row, "read_short_of_apex_mm"),
            in_table(*row, "true_short_of_apex_mm"),
        )
        assert bias.value == pytest.approx(read - true)
    diameters = [in_table("apical_landmarks", f"foramen_diameter_{age}", "mean_mm")
                 for age in ("18_25", "55_up")]  # fmt: skip
    assert constants.FORAMEN_DIAMETER_MM.value == pytest.approx(
        (diameters[0] * diameters[1]) ** 0.5, abs=0.0005
    )
    assert points.USUAL_POINT_MM.value == in_table("instruments", "paper_28", "length_mm")
    assert constants.SHORTENING_FLARE_MM.value == in_table(
        "shortening", "schroeder_flare", "mean_mm"
    )
    shaping = [in_table("shortening", f"davis_{m}_shaping", "mean_mm") for m in ("steel", "niti")]
    # Their mean, 0.215, is carried to two decimals.
    assert constants.SHORTENING_SHAPING_MM.value == pytest.approx(sum(shaping) / 2, abs=0.0051)
    groups = ("18_25", "55_up", "molars", "incisors")
    stops = [
        in_table("apical_landmarks", f"constriction_to_foramen_{g}", "mean_mm") for g in groups
    ]
    # Their mean, 0.685, is carried to one decimal; its range is theirs.
    short = constants.STOP_SHORT_OF_FORAMEN_MM
    assert short.value == pytest.approx(sum(stops) / 4, abs=0.05)
    assert (short.low, short.high) == pytest.approx((min(stops), max(stops)), abs=0.005)


def test_one_reader_has_one_spread():
    """A length on a radiograph lies between two marks, on the bench and where it is weighed."""
    two_marks = 2**0.5 * radiography.READER_SD_MM.value
    assert constants.FILM_READER_SD_PARALLELING_MM.value == pytest.approx(two_marks, abs=0.005)
    assert constants.FILM_READER_SD_BISECTING_MM.value > two_marks
