"""Assignment a2: its pictures, its form, and its way through nbgrader for two students."""

from __future__ import annotations

import base64
import io
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from grading_tools import (
    Values,
    as_believed,
    class_with,
    exercise_cells,
    exercises,
    feedback_of,
    hand_in_and_grade,
    right,
    source_of_assignment,
)
from lengthwise.anatomy.canals import draw_canals
from lengthwise.bench.film import Film
from lengthwise.bench.film_setup import set_up
from lengthwise.bench.film_sheet import film_sheet
from lengthwise.classroom import worksheet
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.read_answers import read_cell
from lengthwise.evidence import PreoperativeFilm
from lengthwise.marking.a2_cases import NO_BELIEF
from lengthwise.marking.casebook import draw_assignment
from lengthwise.marking.diagnosis import Named, named_in
from lengthwise.marking.exercise import Exercise
from lengthwise.marking.graded_case import Case, case_from_json, shown_json
from lengthwise.marking.items import ShuffledItem, mark_item, read_items
from PIL import Image

ASSIGNMENT = "a2_radiographs"
NAMES = ("q1", "q2", "q3", "q4")
PICTURES = {"q1": 1, "q2": 2, "q3": 2, "q4": 1}
STUDENTS = 6


@pytest.fixture(scope="module")
def cases() -> list[dict[str, Case]]:
    return [
        draw_assignment(ASSIGNMENT, target_mm=0.5, rng=np.random.default_rng(seed))
        for seed in range(STUDENTS)
    ]


@pytest.fixture(scope="module")
def notebook(course: Path) -> dict[str, Any]:
    return source_of_assignment(course, ASSIGNMENT)


def picture_of(uri: str) -> np.ndarray:
    head, data = uri.split(",")
    assert head == "data:image/jpeg;base64"
    return np.asarray(Image.open(io.BytesIO(base64.b64decode(data))), dtype=float)


# --- the pictures ---------------------------------------------------------------------------------


def test_every_student_gets_six_pictures(cases: list[dict[str, Case]]) -> None:
    assert sum(PICTURES.values()) == 6
    for name, exercise in exercises(cases):
        assert len(exercise.sheets[0].rows) == PICTURES[name]
        height, width = picture_of(exercise.picture).shape
        assert width / height == pytest.approx(0.8 * PICTURES[name], abs=0.12)


def test_a_class_of_thirty_stays_small(cases: list[dict[str, Case]]) -> None:
    each = [sum(len(shown_json(case)) for case in one.values()) for one in cases]
    assert 30 * max(each) < 10e6


@pytest.mark.parametrize("apex_up", [True, False])
def test_the_ruler_of_a_sheet_measures_what_lies_on_the_film(apex_up: bool) -> None:
    """Two bright lines 20 mm apart; that a film shows things in place is tested on the bench."""
    canal = draw_canals("11", 1, np.random.default_rng(1)).one(0)
    setup = set_up(canal, "paralleling", pixel_mm=0.1)
    image = np.zeros(setup.receptor.shape)
    image[[105, 305]] = 1.0
    record = PreoperativeFilm(tooth_length_mm=20.0)
    whole = picture_of(film_sheet([Film(image, record, setup)], apex_up=apex_up))
    # A column of the picture without dots of the lines; a column of ticks beside it.
    bright = np.nonzero(whole[10:498, 53] > 100)[0] + 10
    ends = bright[np.diff(bright, prepend=-9) > 3]
    ticks = np.nonzero(whole[:, 40] < 100)[0]
    starts = ticks[np.diff(ticks, prepend=-9) > 1]
    assert len(starts) == 42  # 0 to 41 mm
    millimetres = np.interp(ends, starts, np.arange(42))
    assert np.ptp(millimetres) == pytest.approx(20.0, abs=0.15)


def test_the_lengths_follow_from_what_is_read_by_the_ratio_rule(
    cases: list[dict[str, Case]],
) -> None:
    for name, exercise in exercises(cases):
        if name == "q1":
            shown, file_mm, file_shown = map(
                float,
                re.findall(r"(\d+\.\d) × (\d+\.\d) ÷ (\d+\.\d)", exercise.solution)[0],
            )
            tooth = float(str(right(exercise)["tooth_mm"]))
            assert shown * file_mm / file_shown == pytest.approx(tooth, abs=0.2)
            assert shown - tooth > 1.0
        if name == "q2":
            numbers = [float(n) for n in re.findall(r"\d+\.\d", exercise.solution)]
            on_a, on_b, file_mm, file_a, file_b, tooth = numbers[:6]
            assert on_a * file_mm / file_a == pytest.approx(tooth, abs=0.45)
            assert on_b * file_mm / file_b == pytest.approx(tooth, abs=0.45)
            short = "A" if file_a < file_b else "B"
            assert right(exercise)["foreshortened_picture"] == short
            assert right(exercise)["beam_of_a"] == ("steep" if short == "A" else "flat")


def test_whether_the_hidden_tip_is_past_cannot_be_told_and_differs_between_students() -> None:
    found = set()
    for seed in range(14):
        case = draw_assignment(ASSIGNMENT, target_mm=0.5, rng=np.random.default_rng(seed))["q3"]
        assert isinstance(case, Exercise)
        assert right(case)["tip_is"] == "unknown"
        found |= set(re.findall(r"mm (past|short of) the foramen", case.solution))
        found.add(str(right(case)["exit_side"]))
    assert found == {"past", "short of", "buccal", "lingual"}


# --- the questions --------------------------------------------------------------------------------


def test_a_careful_student_earns_everything_and_a_reader_of_thirds_nearly(
    cases: list[dict[str, Case]],
) -> None:
    rng = np.random.default_rng(5)
    shares = []
    for name, exercise in exercises(cases):
        marks = exercise.marked(right(exercise))
        assert marks.share == 1.0, name
        assert "look as if" not in marks.explanation
        read = {
            key: value + rng.normal(0, 0.33) if isinstance(value, float) else value
            for key, value in right(exercise).items()
        }
        shares.append(exercise.marked(read).share)
    assert np.mean(shares) > 0.9


def test_each_mistake_costs_marks_and_is_told_what_to_look_at(cases: list[dict[str, Case]]) -> None:
    found = {"M2": 0, "M7": 0, NO_BELIEF: 0}
    for name, exercise in exercises(cases):
        for belief in found:
            answers = as_believed(exercise, belief)
            marks = exercise.marked(answers)
            if answers == right(exercise) or marks.share == 1.0:
                continue
            found[belief] += 1
            assert "look as if" in marks.explanation, (name, belief)
            assert "lesson 02" in marks.explanation
    assert found["M2"] >= 2 * STUDENTS
    assert found["M7"] >= 1
    assert found[NO_BELIEF] == STUDENTS


def test_a_picture_taken_at_its_own_scale_is_no_belief_about_the_foramen(
    cases: list[dict[str, Case]],
) -> None:
    for one in cases:
        asked = {name: case for name, case in one.items() if isinstance(case, Exercise)}
        scale = as_believed(asked["q1"], NO_BELIEF)
        inside = {**right(asked["q3"]), "tip_is": "inside"}
        apex = as_believed(asked["q4"], "M2")
        assert asked["q1"].marked(scale).share < 0.5
        assert named_from(asked, q1=scale, q3=inside) == (), "q3 alone shows M2"
        (named,) = named_from(asked, q3=inside, q4=apex)
        assert (named.misconception, set(named.questions)) == ("M2", {"q3", "q4"})


def named_from(asked: dict[str, Exercise], **wrong: Values) -> tuple[Named, ...]:
    """The beliefs named where these are answered so, and everything else right."""
    given = {name: wrong.get(name, right(case)) for name, case in asked.items()}
    return named_in(
        [(name, clue) for name, case in asked.items() for clue in case.marked(given[name]).clues]
    )


def test_slips_of_geometry_are_no_belief_about_the_foramen(course: Path) -> None:
    """A steep beam, magnification, shortening: with one option of M2 beside them none is named."""
    items = read_items(course / "items" / f"{ASSIGNMENT}.toml")
    as_listed = {name: ShuffledItem(item, (0, 1, 2, 3)) for name, item in items.items()}
    root_end = {"i1": "D", "i2": "C", "i3": "B", "i4": "B"}
    slips = {**root_end, "i1": "C", "i3": "C", "i4": "D"}

    def named_from_letters(letters: dict[str, str]) -> list[str]:
        work = [(n, mark_item(as_listed[n], letter).clues[0]) for n, letter in letters.items()]
        return [one.misconception for one in named_in(work)]

    assert named_from_letters(root_end) == ["M2"]
    assert named_from_letters(slips) == []


def test_what_is_shown_holds_no_answer(cases: list[dict[str, Case]]) -> None:
    for name, exercise in exercises(cases):
        assert case_from_json(exercise.to_json()) == exercise
        shown = {**exercise.shown(), "picture": ""}
        for telling in ("expected", "slips", exercise.solution, exercise.trap):
            assert telling not in json.dumps(shown), name
        assert not re.search(r"\d", exercise.picture_words.split("tooth")[1][4:]), name


def test_the_picture_holds_nothing_but_pixels(cases: list[dict[str, Case]]) -> None:
    for _, exercise in exercises(cases):
        data = base64.b64decode(exercise.picture.split(",")[1])
        with Image.open(io.BytesIO(data)) as opened:
            assert not opened.getexif()
            assert set(opened.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


# --- the notebook ---------------------------------------------------------------------------------


def test_every_case_asks_for_what_is_marked(
    notebook: dict[str, Any], cases: list[dict[str, Case]]
) -> None:
    cells = {label(cell): source_of(cell) for cell in notebook["cells"]}
    for name, exercise in exercises(cases[:1]):
        names = [each.name for each in exercise.asked]
        assert list(read_cell(cells[name]).values) == names
        assert cells[f"{name}_check"] == f'check_values("{name}", {", ".join(names)})'


# --- all the way through nbgrader -----------------------------------------------------------------


@pytest.fixture(scope="module")
def film_class(tmp_path_factory: pytest.TempPathFactory, course: Path) -> ClassFolder:
    return class_with(ASSIGNMENT, tmp_path_factory.mktemp("films"), course)


@pytest.mark.slow
class TestWithNbgrader:
    def test_the_release_shows_pictures_and_no_answers(
        self, film_class: ClassFolder, capsys: pytest.CaptureFixture[str]
    ) -> None:
        folder = film_class.release_folder(ASSIGNMENT)
        text = "".join(path.read_text(encoding="utf-8") for path in folder.iterdir())
        for one in read_key(film_class, ASSIGNMENT).students.values():
            for case in one.cases.values():
                assert isinstance(case, Exercise)
                assert case.solution not in text
        for telling in ('"expected":', "misconception", '"slips"', '"correct"', '"trap"'):
            assert telling not in text
        worksheet.open_worksheet("ada", folder)
        assert "Welcome, ada. 4 cases and 4 questions" in capsys.readouterr().out
        shown = worksheet.show_case("q3")
        assert shown is not None
        page = shown._repr_html_()
        assert 'src="data:image/jpeg;base64,' in page
        assert re.search(r'<img alt="Radiograph of tooth \d\d', page)
        worksheet.check_values("q3", 0.5, "buccal", "unknown")
        assert "all 3 answers can be read" in capsys.readouterr().out
        worksheet.check_values("q3", 0.5, "palatal", "unknown")
        assert "not one of the words buccal, lingual" in capsys.readouterr().out

    def test_a_right_student_earns_twenty_and_one_who_believes_the_picture_learns_why_not(
        self, film_class: ClassFolder, tmp_path: Path
    ) -> None:
        key = read_key(film_class, ASSIGNMENT)
        cells = {
            student: exercise_cells(key.of(student), belief)
            for student, belief in (("ada", "none"), ("ben", "M2"))
        }
        marks = hand_in_and_grade(film_class, ASSIGNMENT, tmp_path, cells)
        assert marks["ada"]["total"] == 20
        assert "by_hand" not in marks["ada"]
        # By hand: q1 and q2 have no slip for M2 (4 of 4); q3 one of three values (2.67 of 4); each
        # item has an option for M2.
        ben = marks["ben"]
        assert [ben[f"i{n}"] for n in (1, 2, 3, 4)] == [0, 0, 0, 0]
        assert (ben["q1"], ben["q2"], ben["q3"]) == (4, 4, 2.67)
        assert ben["q4"] < 4
        text = feedback_of(film_class, ASSIGNMENT, "ben")
        assert "as if the end of the root were the foramen" in text
        assert "data:image/jpeg;base64," in text
