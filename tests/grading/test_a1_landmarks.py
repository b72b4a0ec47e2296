"""Assignment a1: its questions, its form, and its way through nbgrader for two students."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from grading_tools import (
    as_believed,
    class_with,
    exercise_cells,
    feedback_of,
    hand_in_and_grade,
    right,
    run_lengthwise,
    source_of_assignment,
)
from lengthwise.classroom import worksheet
from lengthwise.classroom.answer_form import AskedForm, exercise_form
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.case_views import view_of, view_of_shown
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.read_answers import read_cell
from lengthwise.marking.casebook import draw_assignment, student_generator
from lengthwise.marking.exercise import Asked, Exercise, Slip
from lengthwise.marking.graded_case import Case, case_from_json, shown_json
from lengthwise.reference.tables import tooth

ASSIGNMENT = "a1_landmarks"
NAMES = ("q1", "q2", "q3", "q4")


@pytest.fixture(scope="module")
def notebook(course: Path) -> dict[str, Any]:
    return source_of_assignment(course, ASSIGNMENT)


def drawn(seed: int, target_mm: float = 0.5) -> dict[str, Case]:
    return draw_assignment(ASSIGNMENT, target_mm=target_mm, rng=np.random.default_rng(seed))


def exercises(many: int, target_mm: float = 0.5) -> Iterator[tuple[str, Exercise]]:
    for seed in range(many):
        for name, case in drawn(seed, target_mm).items():
            assert isinstance(case, Exercise)
            yield name, case


# --- the cases ------------------------------------------------------------------------------------


@pytest.mark.parametrize("target_mm", [0.0, 0.5, 1.0])
def test_a_careful_student_earns_everything_whatever_the_teeth(target_mm: float) -> None:
    for name, exercise in exercises(15, target_mm):
        marks = exercise.marked(right(exercise))
        assert marks.share == 1.0, name
        assert "look as if" not in marks.explanation


def test_each_belief_costs_marks_and_is_told_what_to_look_at() -> None:
    found = {"M2": 0, "M3": 0}
    for name, exercise in exercises(15):
        for belief in found:
            answers = as_believed(exercise, belief)
            if answers == right(exercise):
                continue
            found[belief] += 1
            marks = exercise.marked(answers)
            assert marks.share < 0.95, (name, belief)
            assert "look as if" in marks.explanation, (name, belief)
            assert "lesson 01" in marks.explanation
    assert min(found.values()) >= 15


def test_landmarks_lie_apart_and_in_their_order() -> None:
    for name, exercise in exercises(40):
        if name == "q1":
            rows = {row[0]: row for row in exercise.sheets[0].rows}
            places = {each.name: float(rows[str(each.expected)][1]) for each in exercise.asked}
            order = ("cej_mark", "constriction_mark", "foramen_mark", "apex_mark")
            assert np.all(np.diff([places[mark] for mark in order]) >= 0.2)
            assert [row[0] for row in exercise.sheets[0].rows] == list("ABCDE")
        if name == "q2":
            expected = right(exercise)
            assert float(str(expected["foramen_mm"])) > float(str(expected["constriction_mm"]))


def test_the_tooth_of_the_third_question_is_long_and_the_average_misses_it() -> None:
    for name, exercise in exercises(20):
        if name == "q3":
            assert float(str(right(exercise)["average_short_by_mm"])) >= 1.1


def test_the_answers_of_the_fourth_question_follow_from_its_table() -> None:
    """Worked out a second time from what the student reads."""
    for name, exercise in exercises(20):
        if name != "q4":
            continue
        lengths = np.array([float(row[1]) for row in exercise.sheets[0].rows])
        fdi = re.findall(r"tooth (\d\d)", exercise.told)[0]
        off = lengths - tooth(fdi).overall_mean_mm
        expected = right(exercise)
        assert len(lengths) == 20
        assert expected["off_by_more_than_1_mm"] == np.sum(np.abs(off) > 1.0)
        assert expected["worst_error_mm"] == pytest.approx(np.abs(off).max())
        assert expected["longest_five_error_mm"] == pytest.approx(
            (np.sort(lengths)[-5:] - tooth(fdi).overall_mean_mm).mean(), abs=0.001
        )


def test_two_students_get_other_teeth_and_one_student_the_same_again() -> None:
    ada, again, ben = (
        draw_assignment(
            ASSIGNMENT, target_mm=0.5, rng=student_generator(b"secret", ASSIGNMENT, who)
        )
        for who in ("ada", "ada", "ben")
    )
    assert ada == again
    assert ada["q4"] != ben["q4"]


def test_what_is_shown_holds_no_answer() -> None:
    for name, exercise in exercises(10):
        shown = shown_json(exercise)
        assert case_from_json(exercise.to_json()) == exercise
        for telling in ("expected", "slips", exercise.solution, exercise.trap, "misconception"):
            assert telling not in shown, name
        assert view_of(name, exercise) == view_of_shown(name, json.loads(shown))


def test_a_tolerance_falls_from_everything_to_nothing() -> None:
    one = Exercise("", (), (Asked("a_mm", "a", 25.0, 0.1, 0.5, 5, 45),), "", "none")
    shares = [one.marked({"a_mm": mm}).share for mm in (25.0, 25.1, 24.9, 25.3, 25.5, 26.0)]
    assert shares == pytest.approx([1, 1, 1, 0.5, 0, 0])
    assert one.marked({}).share == one.marked({"a_mm": None}).share == 0


def test_a_slip_that_is_close_enough_to_the_answer_is_not_held_against_it() -> None:
    asked = Asked("a_mm", "a", 25.0, 0.1, 0.5, 5, 45, slips=(Slip(25.1, "M2", "look as if"),))
    one = Exercise("", (), (asked,), "", "none")
    assert "look as if" not in one.marked({"a_mm": 25.05}).explanation
    assert "look as if" in one.marked({"a_mm": 25.2}).explanation


# --- the notebook ---------------------------------------------------------------------------------


def test_every_case_asks_for_what_is_marked_in_that_order(notebook: dict[str, Any]) -> None:
    cells = {label(cell): source_of(cell) for cell in notebook["cells"]}
    for name, case in drawn(1).items():
        assert isinstance(case, Exercise)
        names = [each.name for each in case.asked]
        assert list(read_cell(cells[name]).values) == names
        assert cells[f"{name}_check"] == f'check_values("{name}", {", ".join(names)})'


# --- the form of an answer ------------------------------------------------------------------------

ASKED = [AskedForm("a_mm", 5, 45), AskedForm("b_mark", words=("A", "B"))]


@pytest.mark.parametrize(
    ("typed", "values", "says"),
    [
        ({"a_mm": 25.5, "b_mark": "A"}, (25.5, "A"), ""),
        ({"a_mm": "25,5 mm", "b_mark": " b "}, (25.5, "B"), "25,5 mm was read as 25.5"),
        ({"a_mm": 255, "b_mark": "A"}, (None, "A"), "255 is not between 5 and 45"),
        ({"a_mm": 25, "b_mark": "C"}, (25.0, None), "not one of the words A, B"),
        ({}, (None, None), ""),
    ],
)
def test_the_form_of_an_exercise_is_looked_at(
    typed: dict[str, object], values: tuple[object, ...], says: str
) -> None:
    form = exercise_form(typed, ASKED)
    assert tuple(form.values.values()) == values
    assert says in " ".join([*form.problems, *form.mended])


# --- all the way through nbgrader -----------------------------------------------------------------


@pytest.fixture(scope="module")
def landmark_class(tmp_path_factory: pytest.TempPathFactory, course: Path) -> ClassFolder:
    return class_with(ASSIGNMENT, tmp_path_factory.mktemp("landmarks"), course)


@pytest.mark.slow
class TestWithNbgrader:
    def test_the_release_shows_cases_and_no_answers(self, landmark_class: ClassFolder) -> None:
        folder = landmark_class.release_folder(ASSIGNMENT)
        text = "".join(path.read_text(encoding="utf-8") for path in folder.iterdir())
        key = read_key(landmark_class, ASSIGNMENT)
        for one in key.students.values():
            for case in one.cases.values():
                assert isinstance(case, Exercise)
                assert case.solution not in text
                assert json.dumps(case.told)[1:-1] in text
        for telling in ('"expected":', "misconception", '"slips"', '"correct"', '"trap"'):
            assert telling not in text

    def test_the_student_sees_cases_and_the_form_of_answers(
        self, landmark_class: ClassFolder, capsys: pytest.CaptureFixture[str]
    ) -> None:
        worksheet.open_worksheet("ada", landmark_class.release_folder(ASSIGNMENT))
        assert "Welcome, ada. 4 cases and 4 questions" in capsys.readouterr().out
        shown = worksheet.show_case("q1")
        assert shown is not None
        assert "What is seen at each mark" in repr(shown)
        assert '<th scope="col">mark</th>' in shown._repr_html_()
        for given, says in (
            (("A", "B", "C", "D"), "all 4 answers can be read"),
            (("A", "B", "C", ...), "still to fill in: apex_mark"),
            (("A", "B", "C", "Z"), "not one of the words"),
            ((..., ..., ..., ...), "nothing is answered yet"),
        ):
            worksheet.check_values("q1", *given)
            assert says in capsys.readouterr().out
        worksheet.open_worksheet()
        capsys.readouterr()
        worksheet.check_values("q1", "A")
        assert "your student id first" in capsys.readouterr().out

    def test_a_right_student_earns_twenty_and_one_who_trusts_the_root_end_learns_why_not(
        self, landmark_class: ClassFolder, tmp_path: Path
    ) -> None:
        key = read_key(landmark_class, ASSIGNMENT)
        cells = {
            student: exercise_cells(key.of(student), belief)
            for student, belief in (("ada", "none"), ("ben", "M2"))
        }
        marks = hand_in_and_grade(landmark_class, ASSIGNMENT, tmp_path, cells)
        assert marks["ada"]["total"] == 20
        assert "by_hand" not in marks["ada"]
        # By hand: i1, i2, i3, i4 each have an option for M2 (0 of 4); q1 has one slip of four
        # values (3 of 4), q2 three of four with the last one short by the distance to the apex,
        # q3 one of three (at most 2.67 of 4), q4 none (4 of 4).
        ben = marks["ben"]
        assert [ben[f"i{n}"] for n in (1, 2, 3, 4)] == [0, 0, 0, 0]
        assert (ben["q1"], ben["q4"]) == (3, 4)
        assert 1 <= ben["q2"] < 4
        assert ben["q3"] < 4
        text = feedback_of(landmark_class, ASSIGNMENT, "ben")
        assert "as if the end of the root were the foramen" in text
        assert "What is seen at each mark" in text


@pytest.mark.slow
def test_a_class_with_several_assignments_says_which_command_belongs_to_which(
    tmp_path: Path,
) -> None:
    (tmp_path / "list.csv").write_text("student\nada\n", encoding="utf-8")
    wanted = ("--assignment", "a1_landmarks", "--assignment", "a6_reconcile")
    made = run_lengthwise("new-class", "both", "--roster", "list.csv", *wanted, cwd=tmp_path)
    assert made.returncode == 0, made.stderr
    for assignment in ("a1_landmarks", "a6_reconcile"):
        assert f"{assignment}.zip" in made.stdout
    assert "lengthwise collect FOLDER a1_landmarks --class both" in made.stdout
    unnamed = run_lengthwise("grade", cwd=tmp_path / "both")
    assert unnamed.returncode == 1
    assert "it has a1_landmarks, a6_reconcile" in unnamed.stderr
    assert "Type, for example: lengthwise grade a1_landmarks\n" in unnamed.stderr
    near = run_lengthwise("collect", "in", "a6_reconsile", "--class", "both", cwd=tmp_path)
    assert "Did you mean a6_reconcile? " in near.stderr
    assert "lengthwise collect in a6_reconcile --class both\n" in near.stderr


def test_an_unknown_assignment_is_refused_before_anything_is_made(
    tmp_path: Path, course: Path
) -> None:
    with pytest.raises(ClassroomError, match="no assignment a9; choose from a1_landmarks"):
        make_class("x", (), target_mm=0.5, where=tmp_path, course=course, assignments=("a9",))
    assert list(tmp_path.iterdir()) == []
