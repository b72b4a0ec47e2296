"""A session with extracted teeth: files as they come, and the report on them."""

from __future__ import annotations

import csv
import io
import json
import runpy
import statistics
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.extracted_teeth import teeth_report
from lengthwise.classroom.measured import (
    MOST_ROWS,
    Measurement,
    parse_measurements,
    read_measurements,
    template,
)
from lengthwise.classroom.report_page import Picture, ReportPage
from lengthwise.marking.sheet import Sheet

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "datasets" / "extracted_teeth_example.csv"
HEAD = "student,tooth,canal,method,repeat,measured_mm,low_mm,high_mm,true_mm"
ROW = "s1,T1,single,film,1,24.5,24,25,24.2"


def sheets(page: object) -> dict[str, Sheet]:
    return {
        each.caption: each
        for section in page.sections  # type: ignore[attr-defined]
        for each in section.shown
        if isinstance(each, Sheet)
    }


@pytest.fixture(scope="module")
def example() -> tuple[Measurement, ...]:
    return read_measurements(EXAMPLE)


@pytest.mark.filterwarnings("ignore::lengthwise.classroom.errors.ClassroomWarning")
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize(("separator", "point"), [(",", "."), (";", ","), ("\t", ","), (";", ".")])
def test_a_sheet_is_read_however_a_spreadsheet_saved_it(
    tmp_path: Path, encoding: str, separator: str, point: str
) -> None:
    rows = [
        ["Student", "Tooth", "Canal", "Method", "Measured mm", "true-mm", "Remark"],
        ["jö-1", "T1", "mb2", "Paper_Point", f"24{point}5 mm", f"24{point}2", "läuft"],
        ["", "", "", "", "", "", ""],
        ["JÖ-1", "t1", "MB2", "paper  point", f"24{point}7", "", ""],
    ]
    rows[3].insert(4, "2")
    rows[1].insert(4, "1")
    rows[0].insert(4, "Repeat")
    rows[2].insert(4, "")
    path = tmp_path / "teeth.csv"
    path.write_bytes("\r\n".join(separator.join(row) for row in rows).encode(encoding))
    first, second = read_measurements(path)
    assert first == Measurement(2, "jö-1", "T1", "MB2", "paper point", 1, 24.5, true_mm=24.2)
    assert second == Measurement(4, "jö-1", "T1", "MB2", "paper point", 2, 24.7, true_mm=24.2)


def test_a_decimal_comma_in_quotes_is_read_where_commas_separate() -> None:
    (one,) = parse_measurements('student,tooth,method,measured_mm\ns1,T1,film,"24,5"\n')
    assert one.measured_mm == 24.5


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("s1,T1,single,film,1,24,5,24,25,24.2", "row 2: got 10 cells; allowed are 9"),
        ("s1,T1,single,film,1,245,24,25,24.2", "field measured_mm: got 245; allowed is 5 to 45 mm; "
         "check the decimal point: 24.5?"),
        ("s1,T1,single,film,1,-24.5,24,25,24.2", "field measured_mm: got -24.5; allowed is 5"),
        ("s1,T1,single,film,1,2.45,24,25,24.2", "field measured_mm: got 2.45"),
        ("s1,T1,single,film,1,nan,24,25,24.2", "field measured_mm: got 'nan'"),
        ("s1,T1,single,film,1,1e9,24,25,24.2", "field measured_mm: got '1e9'"),
        ("s1,T1,single,film,1,about 24,24,25,24.2", "field measured_mm: got 'about 24'"),
        ("s1,T1,single,film,1,,24,25,24.2", "field measured_mm: it is empty"),
        ("s1,T1,single,film,1,24.5,25,24,24.2", "field low_mm: got 25 with high_mm 24"),
        ("s1,T1,single,film,1,24.5,24,,24.2", "field low_mm: an interval has two ends"),
        ("s1,T1,single,film,1,24.5,24,25,0", "field true_mm: got 0; allowed is 5 to 45"),
        ("s1,T1,middle,film,1,24.5,24,25,24.2", "field canal: got 'middle'; allowed are single, B"),
        ("s1,T1,single,film,0,24.5,24,25,24.2", "field repeat: got '0'; allowed is 1 to 50"),
        ("s1,T1,single,film,first,24.5,24,25,24.2", "field repeat: got 'first'"),
        (",T1,single,film,1,24.5,24,25,24.2", "field student: it is empty"),
        ("=cmd(),T1,single,film,1,24.5,24,25,24.2", "field student: got '=cmd()'"),
        ("s1,<b>,single,film,1,24.5,24,25,24.2", "field tooth: got '<b>'"),
        ("s1,T1,single,,1,24.5,24,25,24.2", "field method: it is empty"),
    ],
)  # fmt: skip
def test_a_mistake_is_named_with_its_row_and_field(row: str, says: str) -> None:
    with pytest.raises(ClassroomError) as error:
        parse_measurements(f"{HEAD}\n{row}\n", "teeth.csv")
    assert says in str(error.value)
    assert str(error.value).startswith("teeth.csv, row 2")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "teeth.csv is empty"),
        (HEAD, "none under it"),
        ("student,tooth,method\ns1,T1,film", "field measured_mm: missing"),
        (HEAD + ",true\n" + ROW + ",24", "row 1, field 'true': is not a column; allowed are"),
        (HEAD + ",Tooth\n" + ROW + ",T1", "row 1, field tooth: stands twice"),
        (f"{HEAD}\n{ROW}\n{ROW}", "row 3, field repeat: got 1 again for student s1, tooth T1"),
        (f"{HEAD}\n{ROW}\n{ROW.replace('s1', 'S1')}", "as in row 2"),
        (f"{HEAD}\n{ROW}\n" + ROW.replace("s1", "s2").replace("24.2", "23.2"),
         "row 3, field true_mm: got 23.2 for tooth T1, canal single, but row 2 has 24.2"),
        (HEAD + "\n" + "\n".join(ROW.replace("film", f"film {n}") for n in range(13)),
         "field method: got 13 different methods"),
        (HEAD + "\n" + "x\n" * 9, "... and 4 more."),
        (HEAD.replace(",", "\0"), "not a text file"),
    ],
)  # fmt: skip
def test_a_file_that_is_wrong_as_a_whole_is_refused_in_words(text: str, says: str) -> None:
    with pytest.raises(ClassroomError) as error:
        parse_measurements(text, "teeth.csv")
    assert says in str(error.value)
    assert str(error.value).startswith("teeth.csv")


@given(st.text(alphabet=st.sampled_from('s1,;\t\n"24.5T=filmé\0'), max_size=120))
def test_whatever_stands_under_the_head_is_read_or_refused_in_words(text: str) -> None:
    try:
        measured = parse_measurements(f"{HEAD}\n{text}")
    except ClassroomError:
        return
    assert all(5 <= one.measured_mm <= 45 for one in measured)


def test_the_template_is_a_file_to_fill_in() -> None:
    heads = template().strip().split(",")
    filled = dict.fromkeys(heads, "") | {
        "student": "s1", "tooth": "T1", "method": "film", "measured_mm": "24.5",
    }  # fmt: skip
    (one,) = parse_measurements(template() + ",".join(filled[head] for head in heads))
    assert (one.canal, one.repeat, one.true_mm) == ("single", 1, None)


@pytest.mark.slow
def test_a_hundred_thousand_rows_are_read_and_reported() -> None:
    rng = np.random.default_rng(1)
    error = rng.normal(0.2, 0.4, 100_000)
    text = io.StringIO()
    text.write("student;tooth;method;repeat;measured_mm;true_mm\n")
    for number, off in enumerate(error):
        student, rest = number % 100, number // 100
        tooth, repeat = rest % 40, rest // 40 + 1
        text.write(f"s{student};T{tooth};film;{repeat};{20 + tooth / 10 + off:.3f};"
                   f"{20 + tooth / 10}\n".replace(".", ","))  # fmt: skip
    measured = parse_measurements(text.getvalue())
    assert len(measured) == 100_000
    row = sheets(teeth_report("Many", measured))["By method"].rows[0]
    assert row[1:4] == ("100000", f"{error.mean():+.2f}", f"{error.std(ddof=1):.2f}")
    assert float(row[6]) == pytest.approx(0.4, abs=0.006)  # repeats are all the spread there is


def test_more_rows_than_a_session_can_have_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    assert MOST_ROWS >= 100_000
    monkeypatch.setattr("lengthwise.classroom.measured.MOST_ROWS", 3)
    with pytest.raises(ClassroomError, match="has 4 rows; allowed are 3"):
        parse_measurements("student,tooth,method,measured_mm\n" + "s,T,f,24\n" * 4)


def test_the_example_is_what_its_script_makes() -> None:
    made = runpy.run_path(str(ROOT / "datasets" / "make" / "extracted_teeth_example.py"))
    rows = list(csv.reader(io.StringIO(EXAMPLE.read_text(encoding="utf-8"))))
    assert tuple(rows[0]) == made["COLUMNS"]
    assert [tuple(row) for row in rows[1:]] == made["rows"](np.random.default_rng(24))


def test_the_report_finds_what_the_example_was_made_with(
    example: tuple[Measurement, ...],
) -> None:
    page = teeth_report("Example", example)
    tables = sheets(page)
    bias = {row[0]: float(row[2].replace("−", "-")) for row in
            tables["By student, all methods together"].rows}  # fmt: skip
    repeat = {row[0]: float(row[6]) for row in tables["By student, all methods together"].rows}
    held = {row[0]: int(row[2].split()[0]) / int(row[1]) for row in tables["By student"].rows}
    assert max(bias, key=bias.__getitem__) == "student-04"  # reads long
    assert max(repeat, key=repeat.__getitem__) == "student-09"  # careless
    assert min(held, key=held.__getitem__) == "student-14"  # far too sure
    lengths = {row[0]: row[1] for row in tables["By student, all methods together"].rows}
    assert {name for name, n in lengths.items() if n != "36"} == {"student-19"}  # left early
    off = [m.measured_mm - (m.true_mm or 0) for m in example if m.method == "radiograph"]
    row = next(row for row in tables["By method"].rows if row[0] == "radiograph")
    assert row[2:4] == (f"{statistics.mean(off):+.2f}", f"{statistics.stdev(off):.2f}")
    pairs = {row[0]: float(row[2].replace("−", "-"))
             for row in tables["Two methods at a time"].rows}  # fmt: skip
    by_method = {row[0]: float(row[2].replace("−", "-")) for row in tables["By method"].rows}
    for both, apart in pairs.items():
        first, second = both.split(" − ")
        assert apart == pytest.approx(by_method[first] - by_method[second], abs=0.016)
    agreed = {row[0]: row[1:3] for row in tables["Agreement among students"].rows}
    assert set(agreed.values()) == {("6", "23")}, "who left early is left out, and no canal"


def test_without_true_lengths_repeats_and_agreement_are_still_reported() -> None:
    lines = ["student,tooth,method,repeat,measured_mm"]
    for student in ("a", "b", "c"):
        for tooth, length in (("T1", 20.0), ("T2", 22.0), ("T10", 25.0)):
            lines += [f"{student},{tooth},film,{n},{length + 0.1 * n}" for n in (1, 2)]
    page = teeth_report("No truth", parse_measurements("\n".join(lines)))
    tables = sheets(page)
    assert tables["By method"].rows[0][1:] == ("0", "–", "–", "–", "–", "0.07", "–")
    assert [row[0] for row in tables["By tooth, all methods together"].rows] == ["T1", "T2", "T10"]
    assert tables["Agreement among students"].rows[0][3] == "1.00"
    assert not [one for section in page.sections for one in section.shown if
                isinstance(one, Picture)]  # fmt: skip


def test_one_measurement_makes_a_report() -> None:
    page = teeth_report("One", parse_measurements(f"{HEAD}\n{ROW}\n"))
    row = sheets(page)["By method"].rows[0]
    assert row == ("film", "1", "+0.30", "–", "–", "–", "–", "100 %")


def test_a_slip_of_the_pen_is_shown_with_its_row() -> None:
    text = f"{HEAD}\n{ROW}\n{ROW.replace('s1', 's2').replace('24.5', '42.5')}\n"
    far = sheets(teeth_report("Slip", parse_measurements(text)))["Far off"]
    assert far.rows == (("3", "s2", "T1", "film", "42.50", "24.20"),)


def test_half_a_millimetre_is_close_whatever_the_machine_makes_of_it() -> None:
    text = f"{HEAD}\ns1,T1,single,film,1,24.7,,,24.2\n"  # 24.7 - 24.2 is a little more than 0.5
    assert sheets(teeth_report("Half", parse_measurements(text)))["By method"].rows[0][7] == "100 %"


def test_the_notebook_shows_the_report_on_the_invented_session() -> None:
    notebook = ROOT / "instructor_guide" / "extracted_teeth.ipynb"
    cells = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    (code,) = ("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
    *before, last = code.strip().splitlines()
    names: dict[str, object] = {}
    exec("\n".join(before), names)
    page = eval(last, names)
    assert isinstance(page, ReportPage)
    assert page.title == "Extracted teeth: an invented session"
    assert "840 measurements" in repr(page)
    assert "<h2>How sure</h2>" in page._repr_html_()
