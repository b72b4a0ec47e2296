"""The class list, as spreadsheets save it; every mistake names its row and field."""

from __future__ import annotations

import sys
import warnings
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lengthwise.classroom.errors import ClassroomError, ClassroomWarning
from lengthwise.classroom.roster import Student, parse_roster, read_roster
from lengthwise.cli import main


@pytest.mark.filterwarnings("ignore::lengthwise.classroom.errors.ClassroomWarning")
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_list_is_read_however_a_spreadsheet_saved_it(
    tmp_path: Path, encoding: str, delimiter: str
) -> None:
    rows = [["Student", "First name", "email"], ["jö-1", "Jörg", "j@example.org"], ["", "", ""]]
    path = tmp_path / "roster.csv"
    path.write_bytes("\r\n".join(delimiter.join(row) for row in rows).encode(encoding))
    assert read_roster(path) == (Student("jö-1", "Jörg", "", "j@example.org"),)


@pytest.mark.parametrize(
    ("written_as", "name", "read"),
    [("mac_roman", "René", "RenŽ"), ("cp1252", "Jörg", "Jörg")],
)
def test_names_that_may_have_come_out_wrong_are_said_with_one_of_them(
    tmp_path: Path, written_as: str, name: str, read: str
) -> None:
    path = tmp_path / "roster.csv"
    path.write_bytes(f"student,first_name\nada,Ada\nben,{name}\n".encode(written_as))
    with pytest.warns(ClassroomWarning, match=f"not saved as UTF-8.* reads '{read}'.* CSV") as said:
        assert read_roster(path)[1].first_name == read
    assert len(said) == 1


def test_letters_of_utf_8_are_read_without_a_word(tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    path.write_text("student,first_name\nben,Jörg\n", encoding="utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        read_roster(path)


def test_the_command_line_says_a_warning_as_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "roster.csv").write_bytes("student,x\nä b,\n".encode("mac_roman"))
    monkeypatch.setattr(
        sys, "argv", ["lengthwise", "new-class", "c", "--roster", str(tmp_path / "roster.csv")]
    )
    with warnings.catch_warnings():
        warnings.simplefilter("default")
        with pytest.raises(SystemExit):  # an id with a gap in it
            main()
    said = capsys.readouterr().err.splitlines()
    assert said[0].startswith("Look at this: roster.csv is not saved as UTF-8, so letters")
    assert said[1].startswith("roster.csv, row 2, field student")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("student\n", "no students under it"),
        ("name\nada\n", "row 1: there is no column 'student'"),
        ("student\nada\n\nADA\n", "row 4, field student: 'ADA' is already in row 2"),
        ("student,email\n,x@y\n", "row 2, field student: it is empty"),
        ("student\n12345.0\n", "decimal number"),
        ("student\n1,2E+05\n".replace(",", "."), "decimal number"),
        ("student\n../x\n", "row 2, field student: The student id '../x'"),
        ("student\na b\n", "row 2, field student"),
        ("student\n-x\n", "row 2, field student"),
        ("student\nnul\n", "Windows"),
        ("student\n=cmd()\n", "row 2, field student"),
        ("student\0\n", "not a text file"),
        ('student\n"' + "x" * 200_000 + '"\n', "not a CSV file"),
    ],
)
def test_a_mistake_is_named_with_its_row_and_field(text: str, says: str) -> None:
    with pytest.raises(ClassroomError) as error:
        parse_roster(text, "roster.csv")
    assert says in str(error.value)
    assert str(error.value).startswith("roster.csv")


def test_all_mistakes_of_a_list_are_named_at_once() -> None:
    with pytest.raises(ClassroomError) as error:
        parse_roster("student,email\nada,\n,x@y\nADA,\n../x,\n12345.0,\n", "roster.csv")
    said = str(error.value).splitlines()
    assert [line.split(",")[1].strip() for line in said] == ["row 3", "row 4", "row 5", "row 6"]
    assert "already in row 2" in said[1]
    with pytest.raises(ClassroomError, match="and 80 more"):
        parse_roster("student\n" + "a b\n" * 100)


def test_a_spreadsheet_file_is_not_a_class_list(tmp_path: Path) -> None:
    path = tmp_path / "roster.xlsx"
    path.write_bytes(b"PK\x03\x04rest of a zip")
    with pytest.raises(ClassroomError, match="save it as CSV"):
        read_roster(path)


def test_a_missing_or_endless_list_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(ClassroomError, match="cannot be opened"):
        read_roster(tmp_path / "none.csv")
    (tmp_path / "long.csv").write_bytes(b"x" * 1_000_001)
    with pytest.raises(ClassroomError, match="at most"):
        read_roster(tmp_path / "long.csv")


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    try:
        students = parse_roster(text)
    except ClassroomError:
        return
    assert len({student.id.casefold() for student in students}) == len(students) > 0
