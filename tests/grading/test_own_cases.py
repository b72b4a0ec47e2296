"""An instructor's own cases set to a class: the same for everybody, and marked like all others."""

from __future__ import annotations

import getpass
import json
import shutil
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
from grading_tools import ASSIGNMENT, run_lengthwise
from lengthwise.classroom import inbound
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.grading_config import EXCHANGE
from lengthwise.classroom.mark_cells import mark_cells
from lengthwise.classroom.own_cases import (
    SET_IN,
    as_questions,
    keep_case,
    read_own_cases,
    set_own_cases,
)
from lengthwise.marking import authored_cases as made
from lengthwise.marking.authored_cases import Wish, author_case
from lengthwise.marking.determination import Determination
from lengthwise.marking.graded_case import GradedCase, shown_json
from lengthwise.marking.marks import mark
from lengthwise.reconciliation import reconcile

WISHES = {
    "a_plain_one": Wish(),
    "steady_and_short": Wish("23", reading=made.SHORT),
    "wet": Wish("33", points=made.WET),
}
TARGET_MM = 0.75


def kept_in(folder: Path) -> Path:
    for name, wish in WISHES.items():
        keep_case(folder, name, wish, 1, author_case(wish, 1, 0.5))
    return folder


@pytest.mark.slow
def test_own_cases_reach_every_student_and_are_marked_as_mark_marks(
    tmp_path: Path, course: Path
) -> None:
    kept_in(tmp_path / "own_cases")
    (tmp_path / "roster.csv").write_text("student\nada\nben\n", encoding="utf-8")
    said = run_lengthwise(
        "new-class", "mine", "--roster", "roster.csv", "--target", TARGET_MM, "--course", course,
        "--assignment", SET_IN, "--own-cases", "own_cases", cwd=tmp_path,
    )  # fmt: skip
    assert said.returncode == 0, said.stderr
    assert "every student gets your three cases, the same for all" in said.stdout
    assert "q3  wet: not yet: points" in said.stdout
    taught = open_class(tmp_path / "mine")
    key = read_key(taught, SET_IN)
    cases = key.of("ada").cases
    assert cases == key.of("ben").cases
    own = read_own_cases(tmp_path / "own_cases")
    q2 = cases["q2"]
    assert isinstance(q2, GradedCase)
    assert q2.evidence == own["steady_and_short"].evidence
    assert q2.target_mm == TARGET_MM

    released = (taught.release_folder(SET_IN) / "cases.json").read_text(encoding="utf-8")
    assert str(q2.foramen_mm) not in released
    for told in json.loads(released)["students"].values():
        assert "steady_and_short" not in json.dumps(told)

    length = reconcile(q2.evidence, target_mm=TARGET_MM).best_length_mm - 0.7
    answer = Determination(length + TARGET_MM, length, length - 0.5, length + 1.5, "confirm")
    source = "\n".join(f"{name} = {value!r}" for name, value in vars(answer).items())
    notebook = filled_in(json.loads(taught.released_notebook(SET_IN).read_text("utf-8")),
                         {"q2": source})  # fmt: skip
    points = mark_cells(notebook["cells"], key.of("ada")).marks["q2_check"].points
    assert 0 < points < 4
    assert points == pytest.approx(4 * mark(answer, q2).share, abs=0.01)


def test_a_class_that_is_made_can_be_given_own_cases_until_somebody_hands_in(
    small_class: ClassFolder, tmp_path: Path
) -> None:
    shutil.copytree(small_class.root, tmp_path / "small")
    kept_in(tmp_path / "own_cases")
    taught = open_class(tmp_path / "small")
    before = read_key(taught, SET_IN)
    for _ in range(2):
        said = run_lengthwise("own-cases", "../own_cases", cwd=taught.root)
        assert said.returncode == 0, said.stderr
        assert "every student gets your three cases, the same for all" in said.stdout
        assert "Next: lengthwise pack" in said.stdout
    key = read_key(taught, SET_IN)
    assert key.of("ada").cases == key.of("ben").cases != before.of("ada").cases
    assert key.of("ada").items == before.of("ada").items, "the questions stay as they were"
    assert taught.answers_path(SET_IN).stat().st_mode & 0o777 == 0o600
    with zipfile.ZipFile(taught.release_folder(SET_IN).with_suffix(".zip")) as archive:
        told = json.loads(archive.read(f"{SET_IN}/cases.json"))["students"]
    shown = shown_json(key.of("ada").cases["q1"])
    assert len(told) == len(before.students)
    assert all(one["cases"]["q1"] == json.loads(shown) for one in told.values())

    handed_in = taught.submission_folder("ben", SET_IN)
    handed_in.mkdir(parents=True)
    (handed_in / f"{SET_IN}.ipynb").write_text("{}", encoding="utf-8")
    refused = run_lengthwise("own-cases", "../own_cases", cwd=taught.root)
    assert refused.returncode == 1
    assert "1 of class small have handed in a6_reconcile (ben first)" in refused.stderr
    with pytest.raises(ClassroomError, match="has no a6_reconcile"):
        set_own_cases(replace(taught, assignments=("a1_landmarks",)), {})


def test_what_waits_in_the_exchange_of_a_hub_is_handed_in_too(
    small_class: ClassFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(EXCHANGE, str(tmp_path))
    monkeypatch.setattr(inbound, "students_by_login", lambda _: {getpass.getuser(): "ben"})
    folder = tmp_path / "small" / "inbound" / f"{getpass.getuser()}+{SET_IN}+2026-03-07+x"
    folder.mkdir(parents=True)
    (folder / f"{SET_IN}.ipynb").write_text("{}", encoding="utf-8")
    before = small_class.answers_path(SET_IN).read_bytes()
    own = read_own_cases(kept_in(tmp_path / "own_cases"))
    with pytest.raises(ClassroomError, match=r"1 of class .*\(ben first\).*Collect what waits"):
        set_own_cases(small_class, own)
    # the row of the login is gone: it is ben's still, and nobody can say so
    monkeypatch.setattr(inbound, "students_by_login", lambda _: {"other": "ada"})
    with pytest.raises(ClassroomError, match=r"1 folder in .*not in logins\.csv.*Collect first"):
        set_own_cases(small_class, own)
    assert small_class.answers_path(SET_IN).read_bytes() == before


def test_too_few_cases_or_no_assignment_for_them_is_said(tmp_path: Path) -> None:
    own = read_own_cases(kept_in(tmp_path))
    assert set(as_questions(own, 0.5, (ASSIGNMENT,))) == {"q1", "q2", "q3"}
    with pytest.raises(ClassroomError, match="asks for 3 cases, and 2 are kept, a_plain_one, st"):
        as_questions(dict(list(own.items())[:2]), 0.5, (ASSIGNMENT,))
    with pytest.raises(ClassroomError, match="asks for 3 cases, and 0 are kept: keep more"):
        as_questions({}, 0.5, (ASSIGNMENT,))
    with pytest.raises(ClassroomError, match="add --assignment a6_reconcile"):
        as_questions(own, 0.5, ("a7_ten_canals",))
    with pytest.raises(ClassroomError, match="is not a folder"):
        read_own_cases(tmp_path / "nowhere")
