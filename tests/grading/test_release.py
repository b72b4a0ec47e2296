"""Making a class: what its folder holds, and that students get no answers."""

from __future__ import annotations

import json
import re
import shutil
import stat
import zipfile
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from grading_tools import SMALL_CLASS
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.cells import holds_answer, is_check, label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.grader import grader
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.roster import Student, class_list
from lengthwise.marking.casebook import case_key
from lengthwise.marking.items import read_items

ASSIGNMENT = "a6_reconcile"
pytestmark = pytest.mark.slow


def released_texts(taught: ClassFolder) -> Iterator[tuple[str, str]]:
    """Every text that students can see: the release folder, its zip, and the source."""
    for folder in ("release", "source"):
        for path in sorted((taught.root / folder).rglob("*")):
            if path.suffix == ".zip":
                with zipfile.ZipFile(path) as archive:
                    for name in archive.namelist():
                        yield f"{path.name}/{name}", archive.read(name).decode("utf-8")
            elif path.is_file():
                yield path.relative_to(taught.root).as_posix(), path.read_text(encoding="utf-8")


def leaks(taught: ClassFolder) -> list[str]:
    """What students could learn about answers from what they get."""
    items = read_items(taught.items_path(ASSIGNMENT))
    secret = (taught.root / "secret").read_bytes()
    telling = {option.feedback for item in items.values() for option in item.options}
    telling |= {"misconception", '"correct"', '"trap"', "item_order", secret.hex()}
    for one in read_key(taught, ASSIGNMENT).students.values():
        for case in one.cases.values():
            telling |= {repr(case.foramen_mm)} | ({case.trap} - {"none", "not yet"})
    return [
        f"{where}: {word}"
        for where, text in released_texts(taught)
        for word in telling
        if word in text
    ]


def test_students_get_no_key_no_truth_and_no_feedback(small_class: ClassFolder) -> None:
    names = {name for name, _ in released_texts(small_class)}
    assert f"{ASSIGNMENT}.zip/{ASSIGNMENT}/cases.json" in names
    assert leaks(small_class) == []


@pytest.mark.parametrize("what", ["truth", "feedback", "secret"])
def test_an_answer_that_slipped_into_the_release_is_found(
    small_class: ClassFolder, tmp_path: Path, what: str
) -> None:
    shutil.copytree(small_class.root, tmp_path / "small")
    spoiled = ClassFolder(
        tmp_path / "small",
        small_class.name,
        small_class.target_mm,
        small_class.assignments,
        small_class.library_version,
    )
    key = read_key(spoiled, ASSIGNMENT).of("ada")
    planted = {
        "truth": repr(key.cases["q1"].foramen_mm),
        "feedback": key.items["i1"].item.options[0].feedback,
        "secret": (spoiled.root / "secret").read_bytes().hex(),
    }[what]
    (spoiled.release_folder(ASSIGNMENT) / "notes.txt").write_text(planted, encoding="utf-8")
    assert leaks(spoiled)


def test_the_folder_is_the_one_described(small_class: ClassFolder) -> None:
    names = {path.name for path in small_class.root.iterdir()}
    assert names == {
        *("nbgrader_config.py", "class.toml", "secret", "answers", "source", "release"),
        *("submitted", "autograded", "feedback", "records", "gradebook.db"),
    }
    assert stat.S_IMODE((small_class.root / "secret").stat().st_mode) == 0o600
    assert stat.S_IMODE(small_class.answers_path(ASSIGNMENT).stat().st_mode) == 0o600
    assert len((small_class.root / "secret").read_bytes()) >= 12
    assert not list((small_class.root / "source").rglob("cases.json"))


def test_the_class_list_is_in_the_gradebook(small_class: ClassFolder) -> None:
    assert tuple(one.id for one in class_list(small_class)) == SMALL_CLASS


def test_the_released_answers_are_three_dots_and_the_rest_is_locked(
    small_class: ClassFolder, source_notebook: dict[str, Any]
) -> None:
    released = json.loads(small_class.released_notebook(ASSIGNMENT).read_text(encoding="utf-8"))
    assert [label(cell) for cell in released["cells"]] == [
        label(cell) for cell in source_notebook["cells"]
    ]
    for cell in released["cells"]:
        if holds_answer(cell):
            lines = [line.split("#")[0] for line in source_of(cell).splitlines()]
            assert cell["cell_type"] == "markdown" or all(
                line.strip().endswith("= ...") for line in lines
            )
        else:
            assert cell["metadata"]["editable"] is False
        if is_check(cell):
            assert cell["metadata"]["nbgrader"]["checksum"]


def test_every_student_has_cases_of_their_own_under_a_key_without_a_name(
    small_class: ClassFolder,
) -> None:
    path = small_class.release_folder(ASSIGNMENT) / "cases.json"
    told = json.loads(path.read_text(encoding="utf-8"))
    keys = {student: case_key("small", ASSIGNMENT, student) for student in SMALL_CLASS}
    assert set(told["students"]) == set(keys.values())
    assert told["target_mm"] == 0.5
    assert all(re.fullmatch(r"[0-9a-f]{10}", key) for key in keys.values())
    assert "ada" not in json.dumps(told["students"][keys["ben"]])
    ada, ben = (told["students"][keys[student]] for student in ("ada", "ben"))
    assert set(ada["cases"]) == {"q1", "q2", "q3"}
    assert set(ada["items"]) == {"i1", "i2", "i3", "i4"}
    assert ada["cases"] != ben["cases"]
    for item in ada["items"].values():
        assert set(item) == {"stem", "options"}


def test_what_is_graded_is_what_was_handed_out(small_class: ClassFolder) -> None:
    told = json.loads((small_class.release_folder(ASSIGNMENT) / "cases.json").read_text("utf-8"))
    stored = json.loads(small_class.answers_path(ASSIGNMENT).read_text("utf-8"))
    assert stored["library_version"]
    for student, one in read_key(small_class, ASSIGNMENT).students.items():
        given = told["students"][case_key("small", ASSIGNMENT, student)]
        for name, case in one.cases.items():
            assert json.loads(case.evidence.to_json()) == given["cases"][name]
            digest = stored["students"][student]["evidence_digest"][name]
            assert digest == sha256(case.evidence.to_json().encode()).hexdigest()
        for name, item in one.items.items():
            texts = {letter: option.text for letter, option in item.lettered.items()}
            assert texts == given["items"][name]["options"]


def test_evidence_changed_after_the_class_was_made_is_refused(
    small_class: ClassFolder, tmp_path: Path
) -> None:
    shutil.copytree(small_class.root, tmp_path / "small")
    path = tmp_path / "small" / "answers" / f"{ASSIGNMENT}.json"
    told = json.loads(path.read_text("utf-8"))
    told["students"]["ada"]["cases"]["q1"]["evidence"]["reference_point"] = "elsewhere"
    path.write_text(json.dumps(told), encoding="utf-8")
    moved = ClassFolder(tmp_path / "small", "small", 0.5, (ASSIGNMENT,), "0")
    with pytest.raises(ClassroomError, match="evidence of q1 was changed"):
        read_key(moved, ASSIGNMENT)


def test_generating_the_release_again_brings_the_cases_back(
    small_class: ClassFolder, tmp_path: Path
) -> None:
    shutil.copytree(small_class.root, tmp_path / "small")
    again = ClassFolder(tmp_path / "small", "small", 0.5, (ASSIGNMENT,), "0")
    cases = again.release_folder(ASSIGNMENT) / "cases.json"
    before = cases.read_text("utf-8")
    cases.unlink()
    assert grader(again).generate_assignment(ASSIGNMENT)["success"]
    assert cases.read_text("utf-8") == before


def test_the_same_secret_gives_the_same_cases_and_another_gives_others(
    small_class: ClassFolder, tmp_path: Path, course: Path
) -> None:
    for name, secret in (("small", b"of the tests"), ("other", b"another")):
        where = tmp_path / name
        where.mkdir()
        made = make_class(
            "small",
            (Student("ada"), Student("ben")),
            target_mm=0.5,
            where=where,
            course=course,
            assignments=(ASSIGNMENT,),
            secret=secret,
        )
        cases = read_key(made, ASSIGNMENT).of("ada").cases
        same = cases == read_key(small_class, ASSIGNMENT).of("ada").cases
        assert same is (secret == b"of the tests")


def test_an_existing_class_is_never_overwritten(tmp_path: Path, course: Path) -> None:
    (tmp_path / "spring").mkdir()
    (tmp_path / "spring" / "kept").write_text("kept", encoding="utf-8")
    with pytest.raises(ClassroomError, match="already there"):
        make_class("spring", (Student("ada"),), target_mm=0.5, where=tmp_path, course=course)
    assert [path.name for path in tmp_path.rglob("*")] == ["spring", "kept"]


@pytest.mark.parametrize("spoil", ["items", "source", "no source"])
def test_a_failure_half_way_leaves_nothing_behind(tmp_path: Path, course: Path, spoil: str) -> None:
    broken = tmp_path / "course"
    shutil.copytree(course, broken, ignore=shutil.ignore_patterns("lessons", "*.md"))
    if spoil == "items":
        (broken / "items" / f"{ASSIGNMENT}.toml").write_text("[items.i1]\n", encoding="utf-8")
    elif spoil == "source":
        (broken / "source" / ASSIGNMENT / f"{ASSIGNMENT}.ipynb").write_text("{", encoding="utf-8")
    else:
        shutil.rmtree(broken / "source")
    where = tmp_path / "classes"
    where.mkdir()
    with pytest.raises((ValueError, OSError)):
        make_class("spring", (Student("ada"),), target_mm=0.5, where=where, course=broken,
                   assignments=("a1_landmarks", ASSIGNMENT))  # fmt: skip
    assert list(where.iterdir()) == []


@pytest.mark.parametrize("name", ["", "..", "a/b", ".hidden", "con", "x" * 61, "a b", "end."])
def test_a_class_name_that_cannot_be_a_folder_is_refused(
    tmp_path: Path, course: Path, name: str
) -> None:
    with pytest.raises(ClassroomError):
        make_class(name, (Student("ada"),), target_mm=0.5, where=tmp_path, course=course)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("target_mm", [-0.5, 5.0, float("nan")])
def test_a_target_that_no_school_teaches_is_refused(
    tmp_path: Path, course: Path, target_mm: float
) -> None:
    with pytest.raises(ClassroomError, match="target distance"):
        make_class("spring", (Student("ada"),), target_mm=target_mm, where=tmp_path, course=course)
