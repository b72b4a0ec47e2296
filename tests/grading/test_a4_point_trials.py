"""Assignment a4: its points, its form, and its way through nbgrader for four students."""

from __future__ import annotations

import json
import re
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
    source_of_assignment,
    typed,
)
from lengthwise.bench.canal_state import CanalState
from lengthwise.classroom.answer_form import FIELDS
from lengthwise.classroom.answer_key import StudentKey, read_key
from lengthwise.classroom.case_views import view_of, view_of_shown
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.read_answers import read_cell
from lengthwise.evidence import PointTrial
from lengthwise.marking import a4_cases
from lengthwise.marking.casebook import draw_assignment
from lengthwise.marking.determination import Determination
from lengthwise.marking.exercise import Exercise
from lengthwise.marking.graded_case import Case, GradedCase, case_from_json, shown_json
from lengthwise.marking.items import read_items
from lengthwise.marking.marks import mark
from lengthwise.reconciliation import reconcile

ASSIGNMENT = "a4_point_trials"
MANY = 6


@pytest.fixture(scope="module")
def students() -> list[dict[str, Case]]:
    """The cases of some students; both traps of the last question are among them."""
    return [
        draw_assignment(ASSIGNMENT, target_mm=0.5, rng=np.random.default_rng(seed))
        for seed in range(14, 14 + MANY)
    ]


@pytest.fixture(scope="module")
def notebook(course: Path) -> dict[str, Any]:
    return source_of_assignment(course, ASSIGNMENT)


@pytest.mark.parametrize("points", [5, 2, 4], ids=["canal P", "canal Q", "canal R"])
def test_no_canal_is_given_out_that_does_not_fit_its_question(
    points: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = a4_cases.try_points

    def wet_throughout(state: CanalState, *told: Any) -> tuple[CanalState, tuple[PointTrial, ...]]:
        state, trials = tried(state, *told)
        if len(trials) == points:
            trials = tuple(one.model_copy(update={"wet_mm": 1.0}) for one in trials)
        return state, trials

    monkeypatch.setattr(a4_cases, "try_points", wet_throughout)
    monkeypatch.setattr(a4_cases, "MOST_TRIES", 200)
    with pytest.raises(RuntimeError, match="no canal fits its question in 200 tries for tooth 13"):
        a4_cases._staircases("13", "cusp tip", np.random.default_rng(1))


def test_no_point_is_given_out_whose_mark_tells_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = a4_cases.try_point

    def dry(state: CanalState, *told: Any, **more: Any) -> tuple[CanalState, PointTrial]:
        state, one = tried(state, *told, **more)
        return state, one.model_copy(update={"wet_mm": 0.0})

    monkeypatch.setattr(a4_cases, "try_point", dry)
    monkeypatch.setattr(a4_cases, "MOST_TRIES", 50)
    with pytest.raises(RuntimeError, match="no canal fits its question in 50 tries for tooth 13"):
        a4_cases._single_marks("13", "cusp tip", np.random.default_rng(1))


def exercise(cases: dict[str, Case], name: str) -> Exercise:
    case = cases[name]
    assert isinstance(case, Exercise)
    return case


def graded(cases: dict[str, Case], name: str) -> GradedCase:
    case = cases[name]
    assert isinstance(case, GradedCase)
    return case


def trials(case: GradedCase) -> list[PointTrial]:
    return [each for each in case.evidence.records if isinstance(each, PointTrial)]


def determined(case: GradedCase, belief: str) -> dict[str, float | str | None]:
    """What somebody with this belief types who is careful otherwise."""
    result = reconcile(case.evidence, target_mm=case.target_mm)
    wet = [each for each in trials(case) if each.wet_mm > 0]
    nothing: dict[str, float | str | None] = dict.fromkeys(FIELDS)
    if belief == "M13" and not wet:
        return nothing | {"next_step": "longer"}
    low, high = result.interval_mm()
    foramen = result.foramen_mm
    if belief == "M4" and wet:
        foramen = min(each.length_mm for each in wet)
    elif belief == "M5" and wet and wet[0].contact_s > 2:
        foramen = float(np.mean([each.length_mm - each.wet_mm for each in wet]))
    elif result.working_length_mm is None:
        return nothing | {"next_step": result.next_step.word}
    else:
        lengths = (foramen, result.working_length_mm, low, high)
        return dict(zip(FIELDS, (*(round(mm, 2) for mm in lengths), "confirm"), strict=True))
    lengths = (foramen, foramen - case.target_mm, foramen - 0.3, foramen + 0.3)
    return dict(zip(FIELDS, (*(round(mm, 2) for mm in lengths), "confirm"), strict=True))


# --- the cases ------------------------------------------------------------------------------------


def test_the_answers_follow_from_the_tables(students: list[dict[str, Case]]) -> None:
    """Worked out a second time from what the student reads."""
    for cases in students:
        single = exercise(cases, "q1")
        rows = {row[0]: row[1:] for row in single.sheets[0].rows}
        wet = {float(r[1]): (float(r[0]), float(r[3])) for r in rows.values() if r[3] != "dry"}
        assert sorted(wet) == [1.0, 4.0]
        expected = right(single)
        for seconds, name in ((1.0, "brief_met_mm"), (4.0, "long_met_mm")):
            length, mark_mm = wet[seconds]
            assert expected[name] == pytest.approx(length - mark_mm + 0.30 * seconds**0.5, abs=1e-6)
        assert rows[str(expected["most_telling"])][1] == "1"
        assert [row[4] for row in rows.values()].count("no") == 1

        stairs = exercise(cases, "q2")
        done, begun, limited = (sheet.rows for sheet in stairs.sheets)
        dry = [float(row[1]) for row in done if row[4] == "dry"]
        first_wet = min(float(row[1]) for row in done if row[4] != "dry")
        expected = right(stairs)
        assert (expected["longest_dry_mm"], expected["first_wet_mm"]) == (max(dry), first_wet)
        assert first_wet - max(dry) == 0.5
        assert expected["next_trial_mm"] == float(begun[-1][1]) + 0.5
        estimates = [float(mm) for mm in re.findall(r"([\d.]+) mm(?:, in|; no)", stairs.told)]
        assert float(begun[-1][1]) + 0.5 <= estimates[0] + 1.0
        assert float(limited[-1][1]) == estimates[1] + 1.0
        assert {row[4] for row in (*begun, *limited)} == {"dry"}


def test_a_careful_student_earns_everything(students: list[dict[str, Case]]) -> None:
    for cases in students:
        for name in ("q1", "q2"):
            marks = exercise(cases, name).marked(right(exercise(cases, name)))
            assert marks.share == 1.0
            assert "look as if" not in marks.explanation
        for name in ("q3", "q4"):
            case = graded(cases, name)
            marks = mark(Determination(**determined(case, "none")), case)  # type: ignore[arg-type]
            assert marks.share == pytest.approx(1.0, abs=0.01)
            assert "look as if" not in marks.explanation


def test_each_belief_costs_marks_and_is_told_what_to_look_at(
    students: list[dict[str, Case]],
) -> None:
    found = {"M4": 0, "M5": 0, "M13": 0}
    for cases in students:
        for belief in found:
            for name in ("q1", "q2"):
                one = exercise(cases, name)
                if as_believed(one, belief) == right(one):
                    continue
                marks = one.marked(as_believed(one, belief))
                assert marks.share <= 0.8, (name, belief)
                assert "look as if" in marks.explanation
                assert "lesson 04" in marks.explanation
                found[belief] += 1
    assert min(found.values()) >= MANY


def test_the_third_case_misleads_who_takes_the_first_wet_length(
    students: list[dict[str, Case]],
) -> None:
    for cases in students:
        case = graded(cases, "q3")
        marks = mark(Determination(**determined(case, "M4")), case)  # type: ignore[arg-type]
        assert marks.length_share == pytest.approx(0, abs=0.01)
        assert "the first wet length leads to" in marks.clues[0].seen["M4"]


def test_the_fourth_case_holds_one_of_two_traps(students: list[dict[str, Case]]) -> None:
    traps = {"5 s contact": 0, "dry past the foramen": 0}
    for cases in students:
        case = graded(cases, "q4")
        traps[case.trap] += 1
        if case.trap == "5 s contact":
            assert {each.contact_s for each in trials(case)} == {5.0}
            marks = mark(Determination(**determined(case, "M5")), case)  # type: ignore[arg-type]
            assert marks.length_share is not None
            assert marks.length_share <= 0.5
            assert "the mark of points held for long leads to" in marks.clues[0].seen["M5"]
        else:
            assert not any(each.wet_mm for each in trials(case))
            assert mark(Determination(next_step="points"), case).share == 1.0
            marks = mark(Determination(next_step="longer"), case)
            assert (marks.share, marks.safety_failure) == (0.0, True)
            assert "you go on longer" in marks.clues[0].seen["M13"]
            longest = max(each.length_mm for each in trials(case))
            assert mark(Determination(longest, longest, 20, 21), case).share == 0.0
    assert min(traps.values()) >= 2


def test_what_is_shown_holds_no_answer_and_no_truth(students: list[dict[str, Case]]) -> None:
    for cases in students:
        for name, case in cases.items():
            shown = shown_json(case)
            assert case_from_json(case.to_json()) == case
            assert view_of(name, case) == view_of_shown(name, json.loads(shown))
            for telling in ("expected", "slips", "misconception", "trap", "foramen_mm"):
                assert f'"{telling}"' not in shown
            if isinstance(case, GradedCase):
                assert str(case.foramen_mm) not in shown
                lengths = re.findall(r"\d+\.\d+", shown)
                assert all(len(each.split(".")[1]) <= 2 for each in lengths)


# --- the notebook ---------------------------------------------------------------------------------


def test_every_case_asks_for_what_is_marked(
    notebook: dict[str, Any], students: list[dict[str, Case]]
) -> None:
    cells = {label(cell): source_of(cell) for cell in notebook["cells"]}
    for name, case in students[0].items():
        names = [each.name for each in case.asked] if isinstance(case, Exercise) else list(FIELDS)
        assert list(read_cell(cells[name]).values) == names
        call = "check_values" if isinstance(case, Exercise) else "check"
        assert cells[f"{name}_check"] == f'{call}("{name}", {", ".join(names)})'
        for each in case.asked if isinstance(case, Exercise) else ():
            for word in each.words:
                assert len(word) == 1 or f'"{word}"' in cells[f"{name}_text"] + cells[name]


# --- all the way through nbgrader -----------------------------------------------------------------


def cells_of(key: StudentKey, belief: str) -> dict[str, str]:
    cases = {name: case for name, case in key.cases.items() if isinstance(case, GradedCase)}
    return exercise_cells(key, belief) | {
        name: typed(determined(case, belief)) for name, case in cases.items()
    }


@pytest.mark.slow
def test_a_right_student_earns_twenty_and_holders_of_a_belief_lose_what_it_costs(
    tmp_path: Path, course: Path
) -> None:
    believed = {"ada": "none", "ben": "M4", "cal": "M5", "dee": "M13"}
    taught = class_with(ASSIGNMENT, tmp_path, course, tuple(believed))
    key = read_key(taught, ASSIGNMENT)
    cells = {who: cells_of(key.of(who), belief) for who, belief in believed.items()}
    marks = hand_in_and_grade(taught, ASSIGNMENT, tmp_path, cells)
    assert marks["ada"]["total"] == pytest.approx(20, abs=0.05)
    assert "by_hand" not in marks["ada"]
    # By hand. M4: q1 both lengths lost, two words kept (2 of 4); q2 one of five values (3.2);
    # q3 at most the interval's half. M5: q1 both lengths and the letter (1 of 4). M13: q1 one
    # word (3 of 4), q2 two of five (2.4).
    assert (marks["ben"]["q1"], marks["ben"]["q2"]) == (2, 3.2)
    assert marks["ben"]["q3"] <= 2
    assert (marks["cal"]["q1"], marks["cal"]["q2"]) == (1, 4)
    assert (marks["dee"]["q1"], marks["dee"]["q2"]) == (3, 2.4)
    items = read_items(course / "items" / f"{ASSIGNMENT}.toml")
    for who, belief in list(believed.items())[1:]:
        lost = sum(any(o.misconception == belief for o in i.options) for i in items.values())
        assert sum(marks[who][f"i{n}"] for n in (1, 2, 3, 4)) == 4 - lost < 4
    for who, said in (
        ("ben", "first wet length"),
        ("cal", "longer the point"),
        ("dee", "dry point"),
    ):
        assert said in feedback_of(taught, ASSIGNMENT, who)
    released = (taught.release_folder(ASSIGNMENT) / "cases.json").read_text(encoding="utf-8")
    for one in key.students.values():
        for case in one.cases.values():
            if isinstance(case, GradedCase):
                assert str(case.foramen_mm) not in released
