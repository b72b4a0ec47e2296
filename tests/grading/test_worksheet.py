"""What a student sees in the notebook: cases, questions, words about form, never about truth."""

from __future__ import annotations

import contextlib
import html.parser
import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from IPython.core.interactiveshell import InteractiveShell
from lengthwise.classroom import worksheet
from lengthwise.classroom.answer_form import FIELDS, determination_form
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.evidence_tables import case_view
from lengthwise.classroom.read_answers import read_cell
from lengthwise.evidence import Evidence
from lengthwise.reconciliation import NEXT_STEPS

ASSIGNMENT = "a6_reconcile"
Printed = pytest.CaptureFixture[str]

ALL_KINDS = {
    "schema": "lengthwise/evidence/1",
    "tooth": "26",
    "canal": "MB",
    "reference_point": "mesiobuccal cusp <tip>",
    "context": {"pulp": "vital", "lesion": False, "near_nerve_or_sinus": True},
    "evidence": [
        {"kind": "preoperative_film", "tooth_length_mm": 21.5},
        {
            "kind": "working_film",
            "file_length_mm": 20,
            "tip_short_of_radiographic_apex_mm": -0.5,
            "horizontal_deg": 20,
            "technique": "bisecting",
        },
        {"kind": "electronic_reading", "foramen_signal_mm": 20.5, "file_size": 15},
        {
            "kind": "electronic_reading",
            "time_s": [n * 0.1 for n in range(60)],
            "depth_mm": [18 + n * 0.05 for n in range(60)],
            "indicated": [None if n % 20 == 0 else 3 - n * 0.05 for n in range(60)],
        },
        {
            "kind": "electronic_reading",
            "time_s": [0, 1],
            "depth_mm": [19, 20],
            "indicated": [1, None],
        },
        {"kind": "point_trial", "length_mm": 20, "contact_s": 1, "wet_mm": 0, "ran_freely": False},
        {
            "kind": "point_trial",
            "length_mm": 20.5,
            "contact_s": 1.5,
            "wet_mm": 0.75,
            "mark_site": "tip_oblique",
            "reference_point": "distal cusp",
            "reference_offset_mm": -0.5,
            "visit": 2,
            "stage": "after_flare",
        },
        {"kind": "tactile_stop", "length_mm": 17},
    ],
}


class TableReader(html.parser.HTMLParser):
    """The rows of every table, with how many heads each has, and whether it has a caption."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[dict[str, object]] = []
        self.scopes: list[str | None] = []
        self.widths: list[list[int]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self.tables.append({"caption": False})
            self.widths.append([])
        elif tag == "caption":
            self.tables[-1]["caption"] = True
        elif tag == "tr":
            self.widths[-1].append(0)
        elif tag in ("th", "td"):
            self.widths[-1][-1] += 1
            if tag == "th":
                self.scopes.append(dict(attrs).get("scope"))


def test_every_kind_of_record_becomes_a_table_a_screen_reader_can_read() -> None:
    view = case_view("q1", Evidence.from_json(json.dumps(ALL_KINDS)))
    page = TableReader()
    page.feed(view._repr_html_())
    assert len(page.tables) == 8
    assert all(table["caption"] for table in page.tables)
    assert set(page.scopes) == {"col", "row"}
    assert all(len(set(widths)) == 1 for widths in page.widths)
    assert "mesiobuccal cusp &lt;tip&gt;" in view._repr_html_()


def test_the_tables_say_what_was_recorded() -> None:
    text = repr(case_view("q1", Evidence.from_json(json.dumps(ALL_KINDS))))
    for said in (
        "Tooth 26 (Universal 14), canal MB",
        "close to a nerve or the sinus  yes",
        "21.5",
        "-0.5 (looks long)",
        "20.5        file size 15",
        "dry",
        "tip oblique",
        "measured from the distal cusp, add -0.5 mm",
        "visit 2, after flaring",
        "not recorded",
    ):
        assert said in text, said
    assert "no reading" in text


def test_a_long_trace_is_shown_in_steps_that_hide_no_gap_and_no_extreme() -> None:
    text = repr(case_view("q1", Evidence.from_json(json.dumps(ALL_KINDS))))
    assert len([line for line in text.splitlines() if "with a gap" in line]) == 5
    assert "0.0 to 0.5  goes in, 18.00 to 18.25  2.95 to 2.75, with a gap  2.75 to 2.95" in text
    assert "5.5 to 5.9  goes in, 20.75 to 20.95  0.25 to 0.05              0.05 to 0.25" in text


def test_a_dry_point_without_a_liquid_has_no_gap() -> None:
    point = {"kind": "point_trial", "length_mm": 22.0, "contact_s": 1, "wet_mm": 0}
    wet = {**point, "length_mm": 22.5, "wet_mm": 0.5}
    told = {**ALL_KINDS, "evidence": [point, {**wet, "liquid": "clear"}]}
    said = repr(case_view("q1", Evidence.from_json(json.dumps(told))))
    assert "liquid" in said
    assert "–" in said
    assert "not recorded" not in said
    none_told = {**told, "evidence": [point, wet]}
    assert "liquid" not in repr(case_view("q1", Evidence.from_json(json.dumps(none_told))))


@pytest.fixture
def release(small_class: ClassFolder, tmp_path: Path) -> Path:
    shutil.copytree(small_class.release_folder(ASSIGNMENT), tmp_path / "release")
    return tmp_path / "release"


@pytest.mark.slow
class TestWithARelease:
    def test_a_student_on_the_list_gets_their_own_cases(
        self, release: Path, small_class: ClassFolder, capsys: Printed
    ) -> None:
        worksheet.open_worksheet("ada", release)
        assert "Welcome, ada. 3 cases and 4 questions" in capsys.readouterr().out
        key = read_key(small_class, ASSIGNMENT).of("ada")
        for name, case in key.cases.items():
            assert worksheet.show_case(name) == case_view(name, case.evidence)
        for name, item in key.items.items():
            shown = worksheet.show_item(name)
            assert shown is not None
            assert shown.stem == item.item.stem
            assert list(shown.options) == list("ABCD")
            assert all(text in repr(shown) for text in shown.options.values())

    def test_a_stranger_is_told_so_in_plain_words(self, release: Path, capsys: Printed) -> None:
        worksheet.open_worksheet("eve", release)
        assert "'eve' is not on the class list of small" in capsys.readouterr().out
        assert worksheet.show_case("q1") is None
        assert "your student id first" in capsys.readouterr().out

    def test_the_target_of_the_class_is_said(self, release: Path, capsys: Printed) -> None:
        worksheet.open_worksheet("ben", release)
        assert "working length = foramen minus 0.5 mm" in capsys.readouterr().out

    @pytest.mark.parametrize(
        ("spoil", "says"),
        [("remove", "not beside this notebook"), ("[]", "damaged"), ("{", "damaged")],
    )
    def test_a_missing_or_damaged_cases_file_is_explained(
        self, release: Path, capsys: Printed, spoil: str, says: str
    ) -> None:
        if spoil == "remove":
            (release / "cases.json").unlink()
        else:
            (release / "cases.json").write_text(spoil, encoding="utf-8")
        worksheet.open_worksheet("ada", release)
        assert says in capsys.readouterr().out

    def test_the_check_says_the_same_of_a_right_and_of_a_wrong_answer(
        self, release: Path, small_class: ClassFolder, capsys: Printed
    ) -> None:
        key = read_key(small_class, ASSIGNMENT).of("ada")
        worksheet.open_worksheet("ada", release)
        capsys.readouterr()
        said = set()
        for foramen in (key.cases["q1"].foramen_mm, 11.0, 39.0):
            worksheet.check("q1", foramen, foramen - 0.5, foramen - 0.4, foramen + 0.4, "confirm")
            said.add(capsys.readouterr().out)
        assert said == {"q1: the form is right, all five answers can be read.\n"}
        for letter in "ABCD":
            worksheet.check_item("i1", letter)
            assert capsys.readouterr().out == f"i1: the form is right, {letter} can be read.\n"


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        ((...,) * 5, "nothing is answered yet"),
        ((25.5, 25.0, 25.1, 25.9, "confirm"), "form is right, all five"),
        ((25.5, 25.0, 25.9, 25.1, "confirm"), "low has to be the smaller"),
        ((255, 25.0, 25.1, 25.9, "confirm"), "decimal point"),
        (((25, 5), 25.0, 25.1, 25.9, "confirm"), "25,5 was read as 25.5"),
        (("25.5 mm", 25.0, 25.1, 25.9, "confirm"), "25.5 mm was read as 25.5"),
        ((25.5, 25.0, 25.1, 25.9, "confrim"), "did you mean 'confirm'"),
        ((25.5, 25.0, 25.1, 25.9, ...), "still to fill in: next_step"),
        ((25.5, 12.0, 25.1, 25.9, "confirm"), "more than 3 mm away"),
        ((26.5, 25.8, 25.1, 25.9, "confirm"), "outside your own interval"),
        ((..., ..., ..., ..., "film"), '"not yet", next step film'),
        ((None, None, None, None, None), "nothing is answered yet"),
        (("about 25", ..., ..., ..., ...), "is not a number"),
    ],
)
def test_the_check_speaks_of_the_form_in_one_sentence(
    answers: tuple[object, ...], says: str, capsys: Printed
) -> None:
    worksheet.open_worksheet()
    capsys.readouterr()
    assert worksheet.check("q1", *answers) is None  # type: ignore[func-returns-value]
    out = capsys.readouterr().out
    assert says in out
    assert out.startswith("q1: ")
    assert out.endswith(".\n")
    assert out.count("\n") == 1


def test_a_cell_that_was_not_run_is_noticed(capsys: Printed) -> None:
    worksheet.open_worksheet()
    answers = (25.5, 25.0, 25.1, 25.9, "confirm")
    worksheet.check("q1", *answers)
    capsys.readouterr()
    worksheet.check("q2", *answers)
    assert "these are the answers of q1" in capsys.readouterr().out
    worksheet.check("q1", *answers)
    assert "form is right" in capsys.readouterr().out


@pytest.fixture
def shell() -> Iterator[InteractiveShell]:
    """A notebook's kernel without a notebook, fresh."""
    shell = InteractiveShell.instance()
    yield shell
    with contextlib.suppress(ValueError):
        shell.events.unregister("post_run_cell", worksheet._after_cell)
    worksheet._Open.stopped, worksheet._Open.watched = "", None
    InteractiveShell.clear_instance()


@pytest.mark.slow
@pytest.mark.parametrize(
    "typed", ["ADA", '" Ada "', "'ada '", "ada", "“ada”", "ada  # mine", "Ada mine-2", "ada@home"]
)
def test_an_id_is_found_with_capitals_spaces_odd_quotes_or_none(
    release: Path, shell: InteractiveShell, capsys: Printed, typed: str
) -> None:
    shell.run_cell("from lengthwise.classroom.worksheet import *\nopen_worksheet()")
    shell.run_cell(f"student_id = {typed}", store_history=True)
    assert "Traceback" not in capsys.readouterr().out
    shell.run_cell(f"open_worksheet(student_id, {str(release)!r})")
    said = capsys.readouterr().out
    if typed in ("Ada mine-2", "ada@home"):
        assert f"'{typed}' is not on the class list" in said
    else:
        assert "3 cases and 4 questions are yours" in said


@pytest.mark.slow
def test_an_id_without_quotes_is_found_though_its_cell_ran_before_anything_was_imported(
    release: Path, shell: InteractiveShell, capsys: Printed
) -> None:
    shell.run_cell("student_id = Ada", store_history=True)
    assert "NameError" in capsys.readouterr().out
    worksheet._watch_answer_cells()  # what the first import in a kernel does
    shell.run_cell("from lengthwise.classroom.worksheet import *")
    shell.run_cell(f"open_worksheet(student_id, {str(release)!r})", store_history=True)
    assert "Welcome, Ada." in capsys.readouterr().out


def test_a_cell_that_is_no_python_is_answered_in_words_and_an_old_id_is_forgotten(
    shell: InteractiveShell, capsys: Printed
) -> None:
    shell.run_cell("from lengthwise.classroom.worksheet import *\nopen_worksheet()")
    shell.run_cell('student_id = "ada"', store_history=True)
    for cell, says in (
        ("student_id = student-01", 'read as "student-01"; it belongs between quotes'),
        ("foramen_mm = 25.5 mm", "line 1, foramen_mm: 25.5 mm was read as 25.5"),
        ("foramen_mm = 25\nnext_step = flim", "line 2, next_step: flim was read as a word"),
        ("low_mm = 24\nforamen_mm = 25 / 0", "Not read: line 2, foramen_mm: it divides by zero"),
    ):
        shell.run_cell(cell, store_history=True)
        said = capsys.readouterr().out
        assert says in said, cell
        assert "Error" not in said, cell
    assert shell.user_ns["student_id"] is ...
    shell.run_cell("i1 = both", store_history=True)
    assert 'one letter goes between quotes, like i1 = "B"' in capsys.readouterr().out
    shell.run_cell('check_item("i1", i1)', store_history=True)
    assert "i1: 'both' is not one of the words A, B, C, D" in capsys.readouterr().out
    shell.run_cell("i1 = b", store_history=True)
    shell.run_cell('check_item("i1", i1)', store_history=True)
    assert "i1: the form is right, B can be read" in capsys.readouterr().out
    shell.run_cell("1 / 0", store_history=True)
    assert "ZeroDivisionError" in capsys.readouterr().out


def test_a_forgotten_id_is_asked_for(capsys: Printed) -> None:
    worksheet.open_worksheet(...)
    assert "Type your student id" in capsys.readouterr().out


@pytest.mark.parametrize(("letter", "says"), [("E", "not one of"), (3, "not one of"), (..., "yet")])
def test_a_letter_that_is_none_is_said_so(letter: object, says: str, capsys: Printed) -> None:
    worksheet.open_worksheet()
    capsys.readouterr()
    worksheet.check_item("i1", letter)
    assert says in capsys.readouterr().out


def test_words_without_quotes_and_cells_not_yet_run_are_no_errors_in_the_notebook() -> None:
    names: dict[str, object] = {}
    exec("from lengthwise.classroom.worksheet import *", names)
    assert all(names[word] == word for word in (*NEXT_STEPS, *"ABCD"))
    assert [names[word] for word in ("b", "Film")] == ["B", "film"]
    assert names["foramen_mm"] is ...
    assert names["i4"] is ...


def test_the_worksheet_brings_nothing_that_marks_and_no_key_into_a_notebook() -> None:
    """All that its import brings is a word, three dots, or a function of the worksheet's own."""
    names: dict[str, object] = {}
    exec("from lengthwise.classroom.worksheet import *", names)
    functions = {
        name: str(getattr(value, "__module__", value)) for name, value in names.items()
        if name != "__builtins__" and not isinstance(value, str) and value is not ...
    }  # fmt: skip
    assert {"check", "open_worksheet"} <= set(functions)
    assert set(functions.values()) == {"lengthwise.classroom.worksheet"}


@pytest.mark.parametrize(
    "cell",
    ["foramen_mm = 25,5", "foramen_mm = 25.5 mm\nlow_mm = 24,5", "next_step = film",
     "next_step: Film", "foramen_mm = 25.5 - 0.5", "low_mm = 24\nhigh_mm = low_mm + 1",
     "foramen_mm = “25.5”", "low_mm = 24.0 high", "foramen_mm == 25.5"],
)  # fmt: skip
def test_the_notebooks_check_gets_what_grading_will_read(
    cell: str, shell: InteractiveShell, capsys: Printed
) -> None:
    shell.run_cell("from lengthwise.classroom.worksheet import *\nopen_worksheet()")
    shell.run_cell(cell, store_history=True)
    assert "Traceback" not in capsys.readouterr().out
    graded = determination_form(read_cell(cell).values, NEXT_STEPS)
    checked = determination_form({name: shell.user_ns[name] for name in FIELDS}, NEXT_STEPS)
    for name in FIELDS:
        assert getattr(graded, name) == getattr(checked, name)
    assert graded.problems == checked.problems


def test_an_answer_that_grading_will_not_read_is_not_called_right_in_form(
    shell: InteractiveShell, capsys: Printed
) -> None:
    shell.run_cell("from lengthwise.classroom.worksheet import *\nopen_worksheet()")
    answers = "foramen_mm, working_length_mm, low_mm, high_mm, next_step"
    shell.run_cell('next_step = "film"')
    shell.run_cell(f'check("q1", {answers})')
    assert "next step film" in capsys.readouterr().out
    shell.run_cell("foramen_mm = max(22, 23)")  # which the notebook could run
    assert "Not read: line 1, foramen_mm: it holds a piece of program" in capsys.readouterr().out
    shell.run_cell(f'check("q1", {answers})')
    assert "q1: not read: line 1, foramen_mm: it holds a piece" in capsys.readouterr().out
    shell.run_cell("foramen_mm = 22")
    shell.run_cell(f'check("q1", {answers})')
    assert "still to fill in: working_length_mm" in capsys.readouterr().out


def test_the_check_doubts_what_contradicts_itself(capsys: Printed) -> None:
    worksheet.check("q1", 25.0, 24.5, 24.5, 25.5, "film")
    assert "keep one of the two" in capsys.readouterr().out
    worksheet.check("q1", 25.0, 25.5, 24.5, 25.5, "confirm")
    assert "longer than your foramen_mm" in capsys.readouterr().out
    worksheet.check("q2", ..., ..., ..., ..., "confirm")
    assert "confirm is for a length that you take" in capsys.readouterr().out
