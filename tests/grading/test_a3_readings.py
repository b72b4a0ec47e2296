"""Assignment a3: its traces, its form, and its way through nbgrader for four students."""

from __future__ import annotations

import base64
import io
import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from grading_tools import (
    as_believed,
    class_with,
    exercise_cells,
    exercises,
    feedback_of,
    hand_in_and_grade,
    right,
    source_of_assignment,
)
from lengthwise.classroom import worksheet
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.case_views import view_of, view_of_shown
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.read_answers import read_cell
from lengthwise.evidence import ElectronicReading
from lengthwise.marking.a3_changes import helpful, spoken_for
from lengthwise.marking.a3_kinds import SHORT, SLOTS, SOUND, Judged, balanced
from lengthwise.marking.a3_words import CHANGE_WORDS, SIGN_WORDS, USABLE_WORDS
from lengthwise.marking.casebook import draw_assignment
from lengthwise.marking.exercise import Exercise
from lengthwise.marking.graded_case import Case, case_from_json, shown_json
from lengthwise.marking.items import read_items
from lengthwise.marking.sheet import Sheet
from lengthwise.marking.trace_picture import DEPTH_PX, SHOWN_PX, SIZE_PX, trace_picture
from lengthwise.marking.trace_steps import trace_sheet
from PIL import Image

ASSIGNMENT = "a3_readings"
NAMES = tuple(f"q{n}" for n in range(1, 13))
STUDENTS, AGAIN = 3, 6
KINDS = Counter(kind for kind, _ in SLOTS)
BELIEFS = {"ada": "none", "ben": "M1", "cal": "M8", "dee": "M14"}


@pytest.fixture(scope="module")
def cases() -> list[dict[str, Case]]:
    return [
        draw_assignment(ASSIGNMENT, target_mm=0.5, rng=np.random.default_rng(seed))
        for seed in range(STUDENTS)
    ]


@pytest.fixture(scope="module")
def notebook(course: Path) -> dict[str, Any]:
    return source_of_assignment(course, ASSIGNMENT)


def answer(exercise: Exercise, beginning: str) -> float | str | None:
    return next(value for name, value in right(exercise).items() if name.startswith(beginning))


# --- the traces -----------------------------------------------------------------------------------


def test_every_student_has_as_many_traces_of_each_kind(cases: list[dict[str, Case]]) -> None:
    assert KINDS == {SOUND: 4, SHORT: 2, "jumps": 2, "follows": 2, "signal": 2}
    for one in cases:
        assert tuple(one) == NAMES
        assert Counter(case.trap for _, case in exercises([one])) == KINDS
        usable = Counter(answer(case, "usable") for _, case in exercises([one]))
        assert usable == {"yes": 6, "no": 6}
        changes = Counter(answer(case, "change") for _, case in exercises([one]))
        assert changes["nothing"] == 4
        assert changes["off_metal"] >= 1
        assert changes["dry_crown"] >= 1
        assert changes["fill"] <= 6


def test_which_question_holds_which_kind_differs_between_students(
    cases: list[dict[str, Case]],
) -> None:
    orders = {tuple(case.trap for _, case in exercises([one])) for one in cases}
    assert len(orders) == STUDENTS
    teeth = [{re.findall(r"tooth (\d\d)", c.told)[0] for _, c in exercises([one])} for one in cases]
    assert all(len(each) >= 3 for each in teeth)


def read_off(sheet: Sheet) -> tuple[list[float], list[float]]:
    """Depths at which somebody with the table alone finds the signal to come, and to go."""
    came, went = [], []
    for _, file, values, _ in sheet.rows:
        move = re.fullmatch(r"(goes in|comes out), ([\d.]+) to ([\d.]+)", file)
        ends = re.fullmatch(r"(-?[\d.]+) to (-?[\d.]+)(, with a gap)?", values)
        if not move or not ends:
            continue
        first, last = float(ends[1]), float(ends[2])
        if (first > 0) == (last > 0):
            continue
        at = np.interp(0, sorted((first, last)), [0, 1] if first < last else [1, 0])
        place = float(move[2]) + at * (float(move[3]) - float(move[2]))
        if move[1] == "goes in" and last <= 0:
            came.append(place)
        elif move[1] == "comes out" and last > 0:
            went.append(place)
    return came, went


def test_the_depth_of_the_signal_can_be_read_from_the_table_alone(
    cases: list[dict[str, Case]],
) -> None:
    for name, exercise in exercises(cases):
        signal = answer(exercise, "signal")
        if signal == "none":
            continue
        came, went = read_off(exercise.sheets[1])
        assert len(came) >= 2, name
        read = (np.median(came) + np.median(went)) / 2 if went else np.median(came)
        assert read == pytest.approx(signal, abs=0.2), name


def test_where_the_signal_decides_it_does_not_come_and_go_twice_at_one_place(
    cases: list[dict[str, Case]],
) -> None:
    for name, exercise in exercises(cases):
        came, went = read_off(exercise.sheets[1])
        repeats = len(came) >= 2 and bool(went) and np.ptp(came) <= 0.3 and np.ptp(went) <= 0.3
        if exercise.trap in (SOUND, SHORT):
            assert repeats, name
        elif exercise.trap == "signal":
            assert not repeats, name


@pytest.fixture(scope="module")
def judged() -> list[Judged]:
    return balanced(np.random.default_rng(31))


def test_what_is_expected_to_help_helps_on_the_bench_and_doing_nothing_does_not(
    judged: list[Judged],
) -> None:
    """Read again with other chances than those by which the case was chosen."""
    rng = np.random.default_rng(7)
    bad = [each for each in judged if each.kind != SOUND]
    assert len(bad) == 8
    found = Counter[str]()
    for each in bad:
        change = each.changes[0]
        assert change == spoken_for(each.reading)[0]
        for _ in range(AGAIN):
            helps = helpful(each.reading, ["nothing", change], rng, repeats=1)
            found.update({"nothing" if word == "nothing" else "change" for word in helps})
    assert found["change"] >= 0.75 * AGAIN * len(bad)
    assert found["nothing"] <= 0.2 * AGAIN * len(bad)


def test_a_steady_and_short_trace_is_short_of_the_estimate_and_a_sound_one_is_not(
    judged: list[Judged],
) -> None:
    for each in judged:
        signal = each.reading.quality.signal_mm
        if each.kind == SHORT:
            assert signal is not None
            assert all(sign.holds for sign in each.reading.quality.signs)
            assert signal < each.reading.foramen_mm - 0.5
            assert signal <= each.reading.estimated_mm - 0.5
        if each.kind == SOUND:
            assert signal is not None
            assert abs(signal - each.reading.foramen_mm) <= 0.4
            assert -0.2 <= signal - each.reading.estimated_mm <= 1.3


def test_a_steady_trace_is_short_because_the_file_met_the_last_liquid_of_a_dried_canal(
    judged: list[Judged],
) -> None:
    """As i2, M8 and lesson 03 say. It is not the width: filled again, the canal reads soundly."""
    for each in judged:
        if each.kind != SHORT:
            continue
        one = each.reading
        assert one.trouble == "moist"
        assert one.quality.signal_mm is not None
        off_mm = one.quality.signal_mm - one.foramen_mm
        assert off_mm == pytest.approx(-one.conditions.level_mm[0], abs=0.5)
        assert -2.2 < off_mm < -0.7
        assert each.changes[0] == "fill"
        assert each.signal_then_mm == pytest.approx(one.foramen_mm, abs=0.4)


# --- the picture and its table --------------------------------------------------------------------


def picture_of(uri: str) -> Image.Image:
    head, data = uri.split(",")
    assert head == "data:image/png;base64"
    return Image.open(io.BytesIO(base64.b64decode(data)))


def test_the_picture_shows_the_values_where_they_are() -> None:
    """A straight way in: both lines run from corner to corner of what they show."""
    time = tuple(0.1 * i for i in range(101))
    reading = ElectronicReading(
        time_s=time,
        depth_mm=tuple(20 + 0.4 * t for t in time),
        indicated=tuple(3 - 0.35 * t for t in time),
    )
    grey = np.asarray(picture_of(trace_picture(reading)).convert("L"), dtype=float)
    assert grey.shape == SIZE_PX[::-1]
    column = grey[:, 355]  # half of the time, between the thin lines
    for (top, bottom), at_top, at_bottom, value in (
        (SHOWN_PX, 3.3, -0.8, 3 - 0.35 * 5),
        (DEPTH_PX, 19.9, 24.1, 20 + 0.4 * 5),
    ):
        darkest = top + 3 + int(column[top + 3 : bottom - 3].argmin())
        shown = at_top + (darkest - top) / (bottom - top) * (at_bottom - at_top)
        assert shown == pytest.approx(value, abs=0.06)


def test_the_picture_has_no_colours_and_nothing_but_pixels(cases: list[dict[str, Case]]) -> None:
    for _, exercise in exercises(cases[:1]):
        with picture_of(exercise.picture) as opened:
            assert set(opened.info) <= {"dpi"}
            rgb = np.asarray(opened.convert("RGB"))
        assert np.all(rgb[..., 0] == rgb[..., 1])
        assert np.all(rgb[..., 1] == rgb[..., 2])


def test_the_table_tells_of_gaps_rests_and_every_quarter_of_a_millimetre() -> None:
    depth = [22.0, 22.1, 22.2, 22.3, 22.3, 22.3, 22.2]
    shown = (1.0, 0.9, None, 0.7, 0.7, 0.2, None)
    reading = ElectronicReading(time_s=tuple(range(7)), depth_mm=tuple(depth), indicated=shown)
    assert trace_sheet(reading).rows == (
        ("0.0 to 3.0", "goes in, 22.00 to 22.30", "1.00 to 0.70, with a gap", "0.70 to 1.00"),
        ("3.0 to 5.0", "rests at 22.30", "0.70 to 0.20", "0.20 to 0.70"),
        ("5.0 to 6.0", "comes out, 22.30 to 22.20", "0.20 to 0.20, with a gap", "0.20 to 0.20"),
    )


def test_a_class_of_thirty_stays_small(cases: list[dict[str, Case]]) -> None:
    each = [sum(len(shown_json(case)) for case in one.values()) for one in cases]
    assert 30 * max(each) < 8e6


# --- marks ----------------------------------------------------------------------------------------


def test_a_careful_student_earns_everything_and_one_who_reads_to_a_tenth_too(
    cases: list[dict[str, Case]],
) -> None:
    rng = np.random.default_rng(5)
    for name, exercise in exercises(cases):
        marks = exercise.marked(right(exercise))
        assert marks.share == 1.0, name
        assert "look as if" not in marks.explanation
        read = {
            key: value + rng.uniform(-0.15, 0.15) if isinstance(value, float) else value
            for key, value in right(exercise).items()
        }
        assert exercise.marked(read).share == 1.0, name


def test_each_belief_costs_marks_and_is_told_what_to_look_at(cases: list[dict[str, Case]]) -> None:
    for name, exercise in exercises(cases):
        lost = {
            belief: 1 - exercise.marked(as_believed(exercise, belief)).share
            for belief in ("M1", "M8", "M14")
        }
        usable = exercise.trap in (SOUND, SHORT)
        assert lost["M1"] == (0 if usable else 1), name
        assert lost["M8"] == (0.25 if exercise.trap == SHORT else 0), name
        if exercise.trap == SOUND:
            assert lost["M14"] == pytest.approx(0.25), name
        elif exercise.trap != SHORT:
            assert lost["M14"] == 0, name
        for belief, share in lost.items():
            if share:
                said = exercise.marked(as_believed(exercise, belief)).explanation
                assert "Your answers look as if" in said
                assert "lesson 03" in said


def test_a_trace_without_a_usable_signal_takes_no_number_and_one_with_it_no_word(
    cases: list[dict[str, Case]],
) -> None:
    for name, exercise in exercises(cases):
        wrong = 24.0 if answer(exercise, "signal") == "none" else "none"
        answers = {k: wrong if k.startswith("signal") else v for k, v in right(exercise).items()}
        assert exercise.marked(answers).share == 0.75, name


def test_words_that_help_as_well_earn_as_much(cases: list[dict[str, Case]]) -> None:
    also = [(case, word) for _, case in exercises(cases) for word in case.asked[3].also]
    assert len(also) >= STUDENTS
    for exercise, word in also:
        answers = {k: word if k.startswith("change") else v for k, v in right(exercise).items()}
        assert exercise.marked(answers).share == 1.0


def test_what_is_shown_holds_no_answer_and_no_truth(cases: list[dict[str, Case]]) -> None:
    for name, exercise in exercises(cases):
        assert case_from_json(exercise.to_json()) == exercise
        assert view_of(name, exercise) == view_of_shown(name, json.loads(shown_json(exercise)))
        shown = json.dumps({**exercise.shown(), "picture": ""})
        for telling in ("expected", '"slips"', '"also"', "foramen_mm", "trap", exercise.solution):
            assert telling not in shown, name
        assert not re.search(r"\d", exercise.picture_words.split("tooth")[1][4:]), name


# --- the notebook ---------------------------------------------------------------------------------


def test_every_case_asks_for_what_is_marked(
    notebook: dict[str, Any], cases: list[dict[str, Case]]
) -> None:
    cells = {label(cell): source_of(cell) for cell in notebook["cells"]}
    for name, exercise in exercises(cases[:1]):
        names = [each.name for each in exercise.asked]
        assert list(read_cell(cells[name]).values) == names
        assert cells[f"{name}_check"] == f'check_values("{name}", {", ".join(names)})'
    for word in (*USABLE_WORDS, *SIGN_WORDS, *CHANGE_WORDS):
        assert f'`"{word}"`' in cells["how_to_answer"]


# --- all the way through nbgrader -----------------------------------------------------------------


@pytest.fixture(scope="module")
def reading_class(tmp_path_factory: pytest.TempPathFactory, course: Path) -> ClassFolder:
    return class_with(ASSIGNMENT, tmp_path_factory.mktemp("readings"), course, tuple(BELIEFS))


@pytest.mark.slow
class TestWithNbgrader:
    def test_the_release_shows_traces_and_no_answers(
        self, reading_class: ClassFolder, capsys: pytest.CaptureFixture[str]
    ) -> None:
        folder = reading_class.release_folder(ASSIGNMENT)
        text = "".join(path.read_text(encoding="utf-8") for path in folder.iterdir())
        for one in read_key(reading_class, ASSIGNMENT).students.values():
            for case in one.cases.values():
                assert isinstance(case, Exercise)
                assert case.solution not in text
        for telling in ('"expected"', "misconception", '"slips"', '"correct"', '"trap"', '"also"'):
            assert telling not in text
        worksheet.open_worksheet("ada", folder)
        assert "Welcome, ada. 12 cases and 4 questions" in capsys.readouterr().out
        shown = worksheet.show_case("q3")
        assert shown is not None
        page = shown._repr_html_()
        assert re.search(r'<img alt="Strip chart of tooth \d\d', page)
        table = page.index("Written down beside the trace")
        assert (
            table
            < page.index("<img")
            < page.index("<details><summary>Open the table: The trace in steps")
        )
        assert "lowest to highest" in repr(shown)
        worksheet.check_values("q3", "no", "jumps", "none", "off_metal")
        assert "all 4 answers can be read" in capsys.readouterr().out
        worksheet.check_values("q3", "yes", "none", "24,5 mm", "nothing")
        assert "24,5 mm was read as 24.5" in capsys.readouterr().out
        worksheet.check_values("q3", "yes", "none", "deep", "nothing")
        assert "neither a number, written like 25.5, nor one of none" in capsys.readouterr().out

    def test_a_right_student_earns_twenty_and_holders_of_a_belief_lose_what_it_costs(
        self, reading_class: ClassFolder, tmp_path: Path, course: Path
    ) -> None:
        key = read_key(reading_class, ASSIGNMENT)
        cells = {who: exercise_cells(key.of(who), belief) for who, belief in BELIEFS.items()}
        marks = hand_in_and_grade(reading_class, ASSIGNMENT, tmp_path, cells)
        assert marks["ada"]["total"] == pytest.approx(20, abs=1e-6)
        assert not any("by_hand" in each for each in marks.values())
        # By hand, of 16: M1 loses six traces whole (8); M8 one of four answers in two (2/3); M14
        # one of four in the four sound ones (4/3), and in the short ones what it is off.
        traces = {who: sum(each[name] for name in NAMES) for who, each in marks.items()}
        assert traces["ben"] == pytest.approx(8, abs=0.01)
        assert traces["cal"] == pytest.approx(16 - 2 / 3, abs=0.02)
        assert 14 - 0.02 <= traces["dee"] <= 16 - 4 / 3 + 0.04
        items = read_items(course / "items" / f"{ASSIGNMENT}.toml")
        for who, belief in list(BELIEFS.items())[1:]:
            lost = sum(any(o.misconception == belief for o in i.options) for i in items.values())
            assert sum(marks[who][f"i{n}"] for n in (1, 2, 3, 4)) == 4 - lost < 4
        for who, said in (
            ("ben", "the number on the display were true whatever the trace does"),
            ("cal", "a steady trace were an accurate one"),
            ("dee", "were millimetres to be added"),
        ):
            assert said in feedback_of(reading_class, ASSIGNMENT, who)
        assert "data:image/png;base64," in feedback_of(reading_class, ASSIGNMENT, "ada")
