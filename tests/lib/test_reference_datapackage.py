"""The tables of published figures are a valid data package, and the validation can fail."""

import csv
import json
import shutil
from pathlib import Path

import pytest
from frictionless import Package
from lengthwise.reference.quantity import STATUSES

DATASETS = Path(__file__).resolve().parents[2] / "datasets"


def errors(folder):
    """(table, field, kind of error) for everything that is wrong in a package."""
    report = Package(str(folder / "datapackage.json")).validate()
    return [
        (task.name, getattr(error, "field_name", None), error.type)
        for task in report.tasks
        for error in task.errors
    ] + [(None, None, error.type) for error in report.errors]


@pytest.fixture
def damaged(tmp_path):
    """A copy of the tables, and a way to change one cell of it."""
    folder = tmp_path / "datasets"
    folder.mkdir()
    for path in DATASETS.iterdir():
        if path.is_file():
            shutil.copy(path, folder)

    def change(table, row_number, column, text):
        path = folder / f"{table}.csv"
        with path.open(newline="", encoding="utf-8") as stream:
            rows = list(csv.DictReader(stream))
        rows[row_number][column] = text
        with path.open("w", newline="", encoding="utf-8") as stream:
            writer = csv.DictWriter(stream, fieldnames=list(rows[0]), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
        return folder

    change.folder = folder
    return change


def test_the_tables_are_a_valid_data_package():
    assert errors(DATASETS) == []


def test_an_untouched_copy_is_valid(damaged):
    assert errors(damaged.folder) == []


@pytest.mark.parametrize(
    ("table", "column", "text", "kind"),
    [
        ("teeth", "source", "", "constraint-error"),
        ("teeth", "status", "", "constraint-error"),
        ("teeth", "status", "certain", "constraint-error"),
        ("teeth", "overall_mean_mm", "236", "constraint-error"),
        ("teeth", "overall_mean_mm", "23,6", "type-error"),
        ("teeth", "overall_sd_status", "guess", "constraint-error"),
        ("canals", "position", "9", "constraint-error"),
        ("canals", "canal", "MB3", "constraint-error"),
        ("apical_shares", "share", "92.4", "constraint-error"),
        ("outcomes", "status", "Seen", "constraint-error"),
        ("outcomes", "healed_share", "94", "constraint-error"),
        ("outcomes", "group", "2 short", "constraint-error"),
        ("outcomes", "landmark", "foramen", "constraint-error"),
        ("instruments", "kind", "reamer", "constraint-error"),
        ("instruments", "length_mm", "210", "constraint-error"),
        ("shortening", "id", "davis_niti_all", "unique-error"),
    ],
)
def test_a_damaged_cell_is_found(damaged, table, column, text, kind):
    folder = damaged(table, 0, column, text)
    assert (table, column, kind) in errors(folder)


def test_a_canal_of_a_tooth_that_is_not_listed_is_found(damaged):
    folder = damaged("teeth", 0, "position", "8")
    assert {"foreign-key", "primary-key"} <= {kind for *_, kind in errors(folder)}


def test_every_table_is_in_the_package_and_every_resource_is_a_table():
    package = json.loads((DATASETS / "datapackage.json").read_text(encoding="utf-8"))
    assert {r["path"] for r in package["resources"]} == {p.name for p in DATASETS.glob("*.csv")}


def test_every_table_demands_a_source_and_a_status_from_the_vocabulary():
    package = json.loads((DATASETS / "datapackage.json").read_text(encoding="utf-8"))
    for resource in package["resources"]:
        fields = {field["name"]: field for field in resource["schema"]["fields"]}
        assert fields["source"]["constraints"]["required"], resource["name"]
        assert fields["status"]["constraints"]["required"], resource["name"]
        for name, field in fields.items():
            if name.endswith("status"):
                assert tuple(field["constraints"]["enum"]) == STATUSES, (resource["name"], name)


# The longer ending first: a "_per_mm" is not a "_mm".
UNITS = {
    "_per_mm": "Unit: 1/mm.",
    "_mm": "Unit: mm.",
    "_share": "Unit: share of 1.",
    "_ratio": "Unit: ratio.",
}


def test_the_unit_in_a_column_name_is_the_unit_in_its_description():
    package = json.loads((DATASETS / "datapackage.json").read_text(encoding="utf-8"))
    for resource in package["resources"]:
        for field in resource["schema"]["fields"]:
            where = (resource["name"], field["name"])
            assert field["description"], where
            if field["type"] == "number":
                assert "Unit:" in field["description"], where
            units = [unit for ending, unit in UNITS.items() if field["name"].endswith(ending)]
            if units:
                assert field["description"].endswith(units[0]), where


def test_the_package_names_its_licence_and_every_work_it_takes_figures_from():
    package = json.loads((DATASETS / "datapackage.json").read_text(encoding="utf-8"))
    assert [licence["name"] for licence in package["licenses"]] == ["BSD-3-Clause"]
    titles = {source["title"] for source in package["sources"]}
    published = {"seen", "second-hand", "from memory"}
    for path in DATASETS.glob("*.csv"):
        with path.open(newline="", encoding="utf-8") as stream:
            for row in csv.DictReader(stream):
                if row["status"] in published:
                    assert row["source"] in titles, (path.name, row["source"])


def test_the_readme_names_every_table_and_every_status_in_it():
    lines = (DATASETS / "README.md").read_text(encoding="utf-8").splitlines()
    for path in DATASETS.glob("*.csv"):
        (line,) = [line for line in lines if line.startswith(f"| `{path.name}`")]
        if "as in `teeth.csv`" in line:
            (line,) = [line for line in lines if line.startswith("| `teeth.csv`")]
        with path.open(newline="", encoding="utf-8") as stream:
            for row in csv.DictReader(stream):
                word = row["status"].replace("assumption", "assumptions")
                assert word in line, (path.name, word)
