"""Make my file: what is missing is said in plain words, and the file is one that collect takes."""

from __future__ import annotations

import json
import os
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from grading_tools import run_lengthwise
from lengthwise.classroom import hand_in as module
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.answers_so_far import answers_so_far, is_touched
from lengthwise.classroom.cells import holds_answer, label
from lengthwise.classroom.class_folder import ClassFolder, checked_name, open_class
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.demo_students import STUDENTS, answer_sources
from lengthwise.classroom.hand_in import FileMade, make_file
from lengthwise.classroom.new_class import ASSIGNMENTS
from lengthwise.classroom.student_work import assignments_here, work_here
from lengthwise.classroom.take_in import take_in
from lengthwise.marking.casebook import case_key
from student_files import LENGTHS, OPTIONS, Notebook, cases_json, release_zip, typed_in

NAME = "a6_reconcile"


@pytest.fixture
def taken(tmp_path: Path, source_notebook: Notebook) -> Path:
    """A course folder into which the assignment was taken."""
    assert take_in(release_zip(source_notebook), "a.zip", tmp_path).assignment == NAME
    return tmp_path


def save(course: Path, notebook: Notebook) -> Path:
    path = course / NAME / f"{NAME}.ipynb"
    path.write_text(json.dumps(notebook, indent=1), encoding="utf-8")
    return path


def made_of(course: Path, notebook: Notebook) -> FileMade:
    save(course, notebook)
    return make_file(NAME, course)


def test_a_finished_notebook_becomes_a_file_named_after_assignment_and_student(
    taken: Path, source_notebook: Notebook
) -> None:
    done = made_of(taken, typed_in(source_notebook))
    assert done.file == Path("to_hand_in/a6_reconcile_s012.ipynb")
    saved = (taken / NAME / f"{NAME}.ipynb").read_bytes()
    assert (taken / done.file).read_bytes() == saved
    assert done.sentences == (
        "The file a6_reconcile_s012.ipynb is made. All 8 answers are there and can be read.",
        f"It lies at {(taken / done.file).resolve()}, and the link saves a copy to your downloads.",
    )


def test_an_id_whose_letters_were_typed_in_parts_names_the_file_as_the_class_list_does(
    taken: Path, source_notebook: Notebook
) -> None:
    cases = cases_json()
    given = next(iter(cases["students"].values()))
    cases["students"][case_key("spring", NAME, "m\u00fcller")] = given
    (taken / NAME / "cases.json").write_text(json.dumps(cases), encoding="utf-8")
    done = made_of(taken, typed_in(source_notebook, identity='student_id = "mu\u0308ller"'))
    assert done.file == Path("to_hand_in/a6_reconcile_m\u00fcller.ipynb")
    assert done.sentences[0].endswith("All 8 answers are there and can be read.")


def test_an_id_that_names_no_file_is_said_and_nothing_is_raised(
    taken: Path, source_notebook: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "_file_name", lambda work: checked_name("student id", "a/b"))
    done = made_of(taken, typed_in(source_notebook))
    assert done.file is None
    assert "student id 'a/b' cannot name a folder" in done.sentences[0]


MISSING: dict[str, tuple[dict[str, str], str]] = {
    "nothing of a case": ({"q1": "foramen_mm = ..."}, "Not answered, 1 of 8: q1."),
    "two of them": (
        {"q2": "foramen_mm = ...", "reason": "*Write your two or three sentences here.*"},
        "Not answered, 2 of 8: q2, reason.",
    ),
    "an emptied reason": ({"reason": " \n"}, "Not answered, 1 of 8: reason."),
    "one length": ({"q1": 'foramen_mm = 24\nnext_step = "confirm"'}, "q1: still to fill in: work"),
    "low and high the wrong way": (
        {"q1": LENGTHS.replace("24.0\nhigh", "26.0\nhigh") + 'next_step = "confirm"'},
        "q1: low_mm is 26 and high_mm is 25: low has to be the smaller number.",
    ),
    "a program": (
        {"q1": LENGTHS + "next_step = open('x').read()"},
        "q1: next_step could not be read",
    ),
    "no such letter": ({"i1": 'i1 = "E"'}, "i1: 'E' is not one of the words A, B, C, D"),
    "no id": ({"identity": "student_id = ..."}, "Your student id is missing"),
    "an unknown id": (
        {"identity": 'student_id = "s013"'},
        "The id 's013' is not on the class list",
    ),
}


@pytest.mark.parametrize(("changed", "said"), MISSING.values(), ids=MISSING)
def test_what_is_missing_is_said_and_the_file_is_made_all_the_same(
    taken: Path, source_notebook: Notebook, changed: dict[str, str], said: str
) -> None:
    done = made_of(taken, typed_in(source_notebook, **changed))
    assert done.file is not None
    assert (taken / done.file).is_file()
    assert "look at this first" in done.sentences[0]
    assert any(sentence.startswith(said) for sentence in done.sentences), done.sentences
    assert any("Ctrl+S" in sentence for sentence in done.sentences)
    assert all(sentence[-1] in ".:" for sentence in done.sentences)


def test_an_empty_notebook_lacks_everything_and_says_so_in_few_words(
    taken: Path, source_notebook: Notebook
) -> None:
    done = made_of(taken, source_notebook)
    assert done.file == Path("to_hand_in/a6_reconcile.ipynb")
    assert done.sentences[2] == "Not answered, all 8: q1, q2, q3, i1, i2, i3, i4, reason."
    assert len(done.sentences) == 5


def test_a_not_yet_and_a_doubt_are_complete_and_the_doubt_is_said(
    taken: Path, source_notebook: Notebook
) -> None:
    short = LENGTHS.replace("= 24.0\nlow", "= 20\nlow") + 'next_step = "confirm"'
    done = made_of(taken, typed_in(source_notebook, q1=short))
    assert "All 8 answers" in done.sentences[0]
    assert done.sentences[1].startswith("q1: look once more: working_length_mm is more than 3 mm")


def test_a_doubt_is_said_beside_what_is_missing_and_in_the_list_of_the_start_page(
    taken: Path, source_notebook: Notebook
) -> None:
    both = LENGTHS + 'next_step = "longer"'
    done = made_of(taken, typed_in(source_notebook, q2=both, i1="i1 = ..."))
    assert "Not answered, 1 of 8: i1." in done.sentences
    assert any(said.startswith("q2: look once more: you gave a length") for said in done.sentences)
    (shown,) = work_here(taken)
    assert "7 of 8 answers are complete (look once more at q2), saved" in shown.sentence


def test_a_deleted_cell_is_missing(taken: Path, source_notebook: Notebook) -> None:
    notebook = typed_in(source_notebook)
    notebook["cells"] = [cell for cell in notebook["cells"] if label(cell) != "q2"]
    assert "q2: its cell is no longer in the notebook." in made_of(taken, notebook).sentences


def test_of_a_cell_that_was_copied_the_filled_in_one_counts(
    taken: Path, source_notebook: Notebook
) -> None:
    notebook = typed_in(source_notebook)
    (empty,) = [cell for cell in source_notebook["cells"] if label(cell) == "q2"]
    notebook["cells"].append(empty)
    assert "All 8 answers" in made_of(taken, notebook).sentences[0]


def test_lost_labels_and_lost_cases_are_said(taken: Path, source_notebook: Notebook) -> None:
    bare = typed_in(source_notebook)
    for cell in bare["cells"]:
        cell["metadata"] = {}
    assert any("lost their labels" in one for one in made_of(taken, bare).sentences)
    (taken / NAME / "cases.json").write_text("{")
    done = made_of(taken, typed_in(source_notebook))
    assert any("could not be checked" in one for one in done.sentences)


def test_an_unreadable_or_absent_notebook_makes_no_file(
    taken: Path, source_notebook: Notebook
) -> None:
    path = save(taken, typed_in(source_notebook))
    path.write_bytes(path.read_bytes()[:-50])
    assert make_file(NAME, taken).file is None
    assert "cannot be read" in make_file(NAME, taken).sentences[0]
    assert "Get the assignment first" in make_file("a1_landmarks", taken).sentences[0]
    assert not (taken / "to_hand_in").exists()


def test_what_cells_showed_is_left_out_where_the_file_would_be_too_large(
    taken: Path, source_notebook: Notebook
) -> None:
    notebook = typed_in(source_notebook)
    (shows,) = [cell for cell in notebook["cells"] if label(cell) == "q1_case"]
    shows["outputs"] = [{"output_type": "stream", "name": "stdout", "text": "x" * 5_000_000}]
    done = made_of(taken, notebook)
    assert done.file is not None
    assert (taken / done.file).stat().st_size < 100_000
    assert "All 8 answers" in done.sentences[0]
    (shows,) = [cell for cell in notebook["cells"] if label(cell) == "reason"]
    shows["source"] = "x" * 5_000_001
    assert "5 can be handed in" in made_of(taken, notebook).sentences[0]


def test_a_full_disk_is_said_and_the_earlier_file_stays(
    taken: Path, source_notebook: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    done = made_of(taken, typed_in(source_notebook))
    assert done.file is not None
    before = (taken / done.file).read_bytes()

    def full(target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(module, "making", full)
    again = made_of(taken, typed_in(source_notebook, q1="foramen_mm = 20"))
    assert again.file is None
    assert "No space left" in again.sentences[0]
    assert (taken / done.file).read_bytes() == before


def test_nothing_in_a_notebook_is_ever_run(taken: Path, source_notebook: Notebook) -> None:
    trap = taken / "run"
    notebook = typed_in(source_notebook, q1=f"foramen_mm = open({str(trap)!r}, 'w').write('x')")
    made_of(taken, notebook)
    work_here(taken)
    assert not trap.exists()


def test_the_list_says_how_far_each_assignment_has_come(
    taken: Path, source_notebook: Notebook
) -> None:
    now = datetime(2026, 3, 7, 22, 0)
    at_nine, at_ten = (datetime(2026, 3, 7, hour).timestamp() for hour in (21, 22))

    def said() -> str:
        ((assignment, sentence),) = work_here(taken, now)
        assert assignment == NAME
        return sentence

    assert said() == "It is here; nothing is typed yet."
    path = save(taken, typed_in(source_notebook, q3="foramen_mm = ..."))
    os.utime(path, (at_nine, at_nine))
    sofar = "7 of 8 answers are complete, saved today at 21:00."
    assert said() == f"{sofar} No file to hand in was made yet."
    done = make_file(NAME, taken)
    assert done.file is not None
    os.utime(taken / done.file, (at_ten, at_ten))
    assert said() == f"{sofar} The file to hand in was made today at 22:00."
    os.utime(taken / done.file, (at_nine - 60, at_nine - 60))
    assert said() == f"{sofar} The file to hand in is older (today at 20:59)."
    path.write_bytes(b"{")
    assert said().startswith("Its notebook cannot be read.")


def test_only_assignments_are_listed(taken: Path) -> None:
    for other in ("a6_reconcile_old_2026-03-07_2140/a6_reconcile.ipynb", "lessons/lessons.ipynb"):
        (taken / other).parent.mkdir()
        (taken / other).write_text("{}")
    assert assignments_here(taken) == (NAME,)


@pytest.mark.parametrize("assignment", ASSIGNMENTS)
def test_every_assignment_starts_untouched_in_every_cell(course: Path, assignment: str) -> None:
    path = course / "source" / assignment / f"{assignment}.ipynb"
    notebook = json.loads(path.read_text(encoding="utf-8"))
    cells = [cell for cell in notebook["cells"] if label(cell) and holds_answer(cell)]
    assert len(cells) > 6
    assert [label(cell) for cell in cells if is_touched(cell)] == []
    assert [one for one in answers_so_far(notebook, None) if one.complete] == []


def exercise(typed: str, case: dict[str, Any]) -> str:
    """What is said of an answer to one case of another kind; empty when it is complete."""
    nbgrader = {"grade_id": "q1", "solution": True}
    cell = {"cell_type": "code", "metadata": {"nbgrader": nbgrader}, "source": typed}
    (answer,) = answers_so_far({"cells": [cell]}, {"cases": {"q1": case}, "items": {}})
    assert answer.complete == (not answer.said)
    return answer.said


ASKED = [
    {"name": "mark", "low": 0, "high": 0, "words": list(OPTIONS)},
    {"name": "short_mm", "low": -5, "high": 5, "words": []},
]
ROUNDS = [{"name": f"round_{n}", "low": 0, "high": 0, "words": ["dry", "rebook"]} for n in (1, 2)]


@pytest.mark.parametrize(
    ("typed", "case", "said"),
    [
        ('mark = "A"\nshort_mm = 0.5', {"asked": ASKED}, ""),
        ('mark = "A"\nshort_mm = ...', {"asked": ASKED}, "still to fill in: short_mm"),
        ('mark = "A"\nshort_mm = 50', {"asked": ASKED}, "short_mm: 50 is not between -5 and 5"),
        ('round_1 = "dry"\n' + LENGTHS + 'next_step = "confirm"', {"happens": 1}, ""),
        ('round_1 = "dry"\nnext_step = "film"', {"happens": 1}, ""),
        ('round_1 = "dry"', {"happens": 1}, "nothing is answered"),
        (LENGTHS + 'next_step = "confirm"', {"happens": 1}, "nothing is answered"),
        ('round_1 = "dri"', {"happens": 1}, "round_1: 'dri' is not one of the words"),
    ],
)
def test_exercises_and_rounds_are_looked_at_too(
    typed: str, case: dict[str, Any], said: str
) -> None:
    answered = exercise(typed, {"asked": ROUNDS, **case})
    assert answered.startswith(said) if said else answered == ""


def test_from_the_instructors_zip_to_the_collected_file(
    tmp_path: Path, small_class: ClassFolder
) -> None:
    """The whole way: release, get, type, make, collect."""
    zip_file = small_class.release_folder(NAME).with_suffix(".zip")
    key = read_key(small_class, NAME)
    careful = next(one for one in STUDENTS if one.id == "student-01")
    places = []
    for student in ("ada", "ben"):
        course = tmp_path / student
        course.mkdir()
        assert take_in(zip_file.read_bytes(), zip_file.name, course).assignment == NAME
        released = json.loads((course / NAME / f"{NAME}.ipynb").read_text(encoding="utf-8"))
        typed = answer_sources(careful, key.of(student))
        made = made_of(
            course, filled_in(released, {**typed, "identity": f"student_id = '{student}'"})
        )
        assert "All 8 answers" in made.sentences[0]
        assert made.file is not None
        places.append(course / made.file)
    handed_in = tmp_path / "handed_in"
    handed_in.mkdir()
    for path in places:
        path.rename(handed_in / path.name)
    copied = tmp_path / "class"
    shutil.copytree(small_class.root, copied)
    done = run_lengthwise("collect", handed_in, cwd=copied)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "2 files collected, 0 not taken." in done.stdout
    assert open_class(copied).submitted_students(NAME) == ("ada", "ben")
