"""One student's file cannot harm another's: broken, linked, hostile, or the end of its process."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import pytest
from grading_tools import SMALL_CLASS
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.demo_students import STUDENTS, answer_sources
from lengthwise.classroom.grading_record import read_record
from lengthwise.classroom.marks_table import MarksRow, marks_table
from lengthwise.classroom.one_submission import Outcome
from lengthwise.classroom.workers import run_for_each

ASSIGNMENT = "a6_reconcile"
pytestmark = pytest.mark.slow


@pytest.fixture
def handed_in(small_class: ClassFolder, tmp_path: Path) -> ClassFolder:
    """Everybody handed in careful answers."""
    shutil.copytree(small_class.root, tmp_path / "small")
    taught = open_class(tmp_path / "small")
    released = json.loads(taught.released_notebook(ASSIGNMENT).read_text("utf-8"))
    for student in SMALL_CLASS:
        sources = answer_sources(STUDENTS[0], read_key(taught, ASSIGNMENT).of(student))
        notebook = filled_in(released, {**sources, "identity": f'student_id = "{student}"'})
        path = file_of(taught, student)
        path.parent.mkdir(parents=True)
        path.write_text(json.dumps(notebook), encoding="utf-8")
    return taught


def file_of(taught: ClassFolder, student: str) -> Path:
    return taught.submission_folder(student, ASSIGNMENT) / f"{ASSIGNMENT}.ipynb"


def graded(taught: ClassFolder, *students: str) -> dict[str, Outcome]:
    outcomes = run_for_each("autograde", taught, ASSIGNMENT, students)
    return {one.student: one for one in outcomes}


def row_of(taught: ClassFolder, student: str) -> MarksRow:
    return next(row for row in marks_table(taught, ASSIGNMENT).rows if row.student == student)


def cut_off(path: Path, outside: Path) -> None:
    path.write_text(path.read_text("utf-8")[:2000], encoding="utf-8")


def linked(path: Path, outside: Path) -> None:
    outside.write_text(path.read_text("utf-8"), encoding="utf-8")
    path.unlink()
    os.symlink(outside, path)


def with_a_link_beside(path: Path, outside: Path) -> None:
    outside.write_text("private", encoding="utf-8")
    os.symlink(outside, path.with_name("notes.txt"))


def too_large(path: Path, outside: Path) -> None:
    path.write_text(path.read_text("utf-8") + " " * 5_000_000, encoding="utf-8")


def deeply_nested(path: Path, outside: Path) -> None:
    notebook = json.loads(path.read_text("utf-8"))
    notebook["metadata"]["deep"] = 0
    text = json.dumps(notebook).replace('"deep": 0', '"deep": ' + "[" * 900 + "]" * 900)
    path.write_text(text, encoding="utf-8")


HARM = {
    "ada": (cut_off, "not a notebook"),
    "cal": (linked, "link"),
    "dee": (with_a_link_beside, "link"),
    "eli": (too_large, "MB"),
    "fay": (deeply_nested, "nested too deeply"),
}


def test_a_file_that_cannot_be_graded_stays_its_students_own_failure(
    handed_in: ClassFolder, tmp_path: Path
) -> None:
    for student, (harm, _) in HARM.items():
        harm(file_of(handed_in, student), tmp_path / f"outside-{student}")
    outcomes = graded(handed_in, *SMALL_CLASS)
    for student, (_, says) in HARM.items():
        assert says in outcomes[student].failed, outcomes[student]
        assert "Traceback" not in outcomes[student].line
    assert outcomes["ben"].failed == ""
    assert row_of(handed_in, "ben").total == 16.0
    graded_copies = [path for path in (handed_in.root / "autograded").rglob("*") if path.is_file()]
    assert any("ben" in path.parts for path in graded_copies)
    assert not any(b"private" in path.read_bytes() for path in graded_copies)


def test_the_end_of_a_worker_process_stays_its_students_own_failure(
    handed_in: ClassFolder,
) -> None:
    with (handed_in.root / "nbgrader_config.py").open("a", encoding="utf-8") as config:
        config.write(
            "import os\n"
            "def end(assignment, student, notebooks):\n"
            "    if student == 'ada':\n"
            "        os._exit(1)\n"
            "get_config().Autograde.pre_convert_hook = end\n"
        )
    seen: list[Outcome] = []
    outcomes = run_for_each("autograde", handed_in, ASSIGNMENT, ["ada", "ben"], seen.append)
    failed = {one.student: one.failed for one in outcomes}
    assert failed == {"ada": "its grading process ended unexpectedly", "ben": ""}
    assert sorted(one.student for one in seen) == ["ada", "ben"]
    assert row_of(handed_in, "ben").total == 16.0


def test_the_folder_decides_whose_cases_are_marked_and_strangers_are_refused(
    handed_in: ClassFolder,
) -> None:
    """Ada hands in Ben's answers under Ben's id: they are marked against Ada's own cases."""
    shutil.copyfile(file_of(handed_in, "ben"), file_of(handed_in, "ada"))
    shutil.copytree(file_of(handed_in, "ben").parent, file_of(handed_in, "eve").parent)
    outcomes = graded(handed_in, "ada", "ben", "eve")
    assert "another id was typed in it: ben" in outcomes["ada"].line
    assert row_of(handed_in, "ben").total == 16.0
    assert (row_of(handed_in, "ada").total or 0.0) < 14.0
    assert "eve is not on the class list" in outcomes["eve"].failed


def test_a_record_keeps_what_was_found(handed_in: ClassFolder) -> None:
    path = file_of(handed_in, "ada")
    notebook = json.loads(path.read_text("utf-8"))
    for cell in notebook["cells"]:
        if cell["id"] == "q1":
            cell["source"] = "foramen_mm = 255\nnext_step = 'flim'"
        elif cell["id"] == "i1":
            cell["source"] = "i1 = E"
    path.write_text(json.dumps(notebook), encoding="utf-8")
    graded(handed_in, "ada")
    record = read_record(handed_in, "ada", ASSIGNMENT)
    assert record is not None
    assert record.by_hand == ("q1_check", "i1_check")
    assert any("255 is not a length" in sentence for sentence in record.unread)
    assert any("did you mean" in sentence for sentence in record.unread)
    row = row_of(handed_in, "ada")
    assert row.by_hand == ("q1", "i1", "reason")
    assert (row.points["q1"], row.points["i1"]) == (0.0, 0.0)


def test_an_unreadable_record_is_as_good_as_none(handed_in: ClassFolder) -> None:
    path = handed_in.record_path("ada", ASSIGNMENT)
    path.parent.mkdir(parents=True)
    for text in ("", "{", "[]", '{"student": "ada"}'):
        path.write_text(text, encoding="utf-8")
        assert read_record(handed_in, "ada", ASSIGNMENT) is None
