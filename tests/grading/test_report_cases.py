"""A class's evidence in one file: a reconciliation for every case, or the row that is wrong."""

from __future__ import annotations

import csv
import io
import itertools
import re
from pathlib import Path

import pytest
from lengthwise.classroom import report_pictures
from lengthwise.classroom.report_cases import cases_csv, cases_page, reconcile_cases
from lengthwise.cli import app
from lengthwise.evidence import Evidence
from lengthwise.evidence.errors import EvidenceError
from lengthwise.reconciliation import reconcile
from matplotlib.backends.backend_agg import FigureCanvasAgg
from typer.testing import CliRunner

ROOT = Path(__file__).resolve().parents[2]
LESSON = ROOT / "course" / "lessons" / "06_one_ruler.csv"
HEAD = "case,tooth,canal,kind,reference_point,length_mm,contact_s,wet_mm"
ROW = "a,13,single,point_trial,cusp tip,25.0,1,0"


def test_every_case_is_what_it_is_alone() -> None:
    cases = Evidence.read_many(LESSON)
    results = reconcile_cases(cases, 0.5)
    rows = list(csv.DictReader(io.StringIO(cases_csv(results))))
    assert [row["case"] for row in rows] == list(cases)
    for row in rows:
        alone = reconcile(cases[row["case"]], target_mm=0.5)
        assert float(row["foramen_mm"]) == pytest.approx(alone.foramen_mm, abs=0.006)
        length = alone.working_length_mm
        assert row["working_length_mm"] == ("" if length is None else f"{length:.2f}")
        assert row["next_step"] == alone.next_step.word
        assert row["sentence"] == alone.sentence
    page = cases_page("Evidence", results, 0.5)
    assert [section.title for section in page.sections[1:]] == [f"Case {name}" for name in cases]
    assert "odd one" in page.opening[1]


def test_the_command_writes_table_and_page_beside_the_file(tmp_path: Path) -> None:
    file = tmp_path / "class.csv"
    file.write_text(f"{HEAD}\n=1+1,{ROW[2:]}\n{ROW}\n")
    done = CliRunner().invoke(app, ["reconcile-class", str(file), "--target", "0,7"])
    assert done.exit_code == 0, done.output
    assert "2 cases, target 0.7 mm short" in done.output
    assert "'=1+1" in (tmp_path / "class_reconciled.csv").read_text(), "no formula for a sheet"
    assert "<h2>Case a</h2>" in (tmp_path / "class_reconciled.html").read_text()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (f"{HEAD}\n{ROW}\n{ROW.replace('25.0', '250')}\n", "Row 3 (point_trial), field length_mm: "
         "got 250"),
        (f"{HEAD}\n{ROW.replace('25.0', '25,0')}\n", "Row 2: got 9 cells; allowed are 8"),
        (f"{HEAD}\n{ROW}\n{ROW.replace('13', '14')}\n", "Row 3, field tooth: got '14', but row 2"),
        (f"{HEAD}\n{ROW.replace('13', '19')}\n", "Row 2 (case 'a'), field tooth: got '19'"),
        (f"{HEAD}\n{ROW.replace('point_trial', 'guess')}\n", "field kind: got 'guess'"),
        (f"{HEAD}\n{ROW.replace('25.0', 'long')}\n", "Row 2, field length_mm: got 'long'"),
        (f"{HEAD},colour\n{ROW},red\n", "Row 1, field 'colour': is not a column"),
        ((HEAD + "\n" + ROW + "\n").replace(",", ";"), "columns are separated by commas"),
        (HEAD + "\n" + f"{ROW}\n" * 201, "field evidence: got 201 records; allowed are 200"),
        (HEAD + "\n", "a header and no rows"),
    ],
)  # fmt: skip
def test_a_wrong_row_is_named_with_its_field(tmp_path: Path, text: str, says: str) -> None:
    file = tmp_path / "class.csv"
    file.write_text(text, encoding="utf-8-sig")
    with pytest.raises(EvidenceError) as error:
        Evidence.read_many(file)
    assert says in str(error.value)


def test_columns_of_words_read_from_the_left_and_one_case_is_no_plural() -> None:
    cases = Evidence.read_many(LESSON)
    name = next(iter(cases))
    page = cases_page("One", reconcile_cases({name: cases[name]}, 0.5), 0.5)
    assert page.opening[0].startswith("1 case, target")
    (overview, *_) = re.findall(r'class="lw-scroll([^"]*)"', page.to_html())
    assert overview.split() == ["lw-short", "lw-words-7"], "the next step, and no figure"


def test_the_figures_under_the_intervals_stand_apart() -> None:
    axes = []
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(report_pictures, "_png", lambda figure: axes.extend(figure.axes) or b"")
        for reach in (0.2, 0.9, 1.1, 3.0, 12.0):
            report_pictures.intervals_picture({"student-with-a-name": [(-reach, reach)]}, "")
    for one in axes:
        FigureCanvasAgg(one.figure).draw()
        boxes = [text.get_window_extent() for text in one.get_xticklabels() if text.get_text()]
        inside = [box for box in boxes if one.bbox.x0 <= (box.x0 + box.x1) / 2 <= one.bbox.x1]
        assert all(a.x1 + 4 < b.x0 for a, b in itertools.pairwise(inside))


@pytest.mark.parametrize("encoding", ["utf-16", "cp1252"])
def test_another_encoding_is_refused_in_words(tmp_path: Path, encoding: str) -> None:
    file = tmp_path / "class.csv"
    file.write_bytes(f"{HEAD}\n{ROW.replace('cusp tip', 'Höckerspitze')}\n".encode(encoding))
    with pytest.raises(EvidenceError, match="save it as 'CSV UTF-8'"):
        Evidence.read_many(file)


def test_a_hundred_thousand_rows_are_refused_before_they_are_read(tmp_path: Path) -> None:
    file = tmp_path / "class.csv"
    file.write_text(HEAD + "\n" + f"{ROW}-----------\n" * 100_000)
    with pytest.raises(EvidenceError, match="this is not a file of evidence"):
        Evidence.read_many(file)
