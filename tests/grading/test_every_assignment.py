"""What holds for every assignment: the form of its source, its twenty points, its items."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from grading_tools import source_of_assignment
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.new_class import ASSIGNMENTS
from lengthwise.marking.items import Item, read_items
from lengthwise.reconciliation import NEXT_STEPS
from test_source_notebook import faults_of_form

BEHIND = {
    "a1_landmarks": {"M2", "M3"},
    "a2_radiographs": {"M2"},
    "a3_readings": {"M1", "M8", "M14"},
    "a4_point_trials": {"M4", "M5", "M13"},
    "a5_dry_again": {"M6", "M10", "M13", "M16"},
    "a6_reconcile": {"M1", "M2", "M7", "M8", "M11", "M15"},
    "a7_ten_canals": {"M5", "M12"},
}
"""Misconceptions that the wrong options of each assignment's items have to diagnose, at least."""

CASES = {
    "a1_landmarks": (4, 4),
    "a2_radiographs": (4, 4),
    "a3_readings": (12, 4 / 3),
    "a4_point_trials": (4, 4),
    "a5_dry_again": (2, 8),
    "a6_reconcile": (3, 4),
    "a7_ten_canals": (10, 1.2),
}
"""How many cases each has, and the points of one."""

WITH_A_REASON = ("a6_reconcile", "a7_ten_canals")
WITH_A_NEXT_STEP = ("a4_point_trials", "a5_dry_again", *WITH_A_REASON)
KNOWN = {f"M{number}" for number in range(1, 17)}


@pytest.fixture(params=ASSIGNMENTS)
def assignment(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def notebook(course: Path, assignment: str) -> dict[str, Any]:
    return source_of_assignment(course, assignment)


@pytest.fixture
def items(course: Path, assignment: str) -> dict[str, Item]:
    return read_items(course / "items" / f"{assignment}.toml")


def test_the_source_has_the_form_that_grading_relies_on(notebook: dict[str, Any]) -> None:
    assert faults_of_form(notebook) == []


def test_the_source_is_stored_as_jupyter_would_store_it(course: Path, assignment: str) -> None:
    text = (course / "source" / assignment / f"{assignment}.ipynb").read_text(encoding="utf-8")
    assert json.dumps(json.loads(text), indent=1, ensure_ascii=False) + "\n" == text


def test_the_points_are_twenty_one_of_them_for_each_item(
    assignment: str, notebook: dict[str, Any]
) -> None:
    marked = [cell["metadata"]["nbgrader"] for cell in notebook["cells"]]
    points = {one["grade_id"]: one["points"] for one in marked if one["grade"]}
    assert sum(points.values()) == pytest.approx(20)
    cases, each = CASES[assignment]
    assert points == {
        **{f"q{n}_check": each for n in range(1, cases + 1)},
        **{f"i{n}_check": 1 for n in range(1, 5)},
        **({"reason": 4} if assignment in WITH_A_REASON else {}),
    }


@pytest.mark.parametrize("assignment", WITH_A_NEXT_STEP)
def test_the_printed_words_are_the_librarys_next_steps(notebook: dict[str, Any]) -> None:
    (text,) = (source_of(each) for each in notebook["cells"] if label(each) == "how_to_answer")
    assert dict(re.findall(r'^\| `"(\w+)"` \| (.+) \|$', text, re.MULTILINE)) == NEXT_STEPS


def test_the_items_diagnose_and_say_what_to_look_at_again(
    assignment: str, items: dict[str, Item]
) -> None:
    assert list(items) == ["i1", "i2", "i3", "i4"]
    wrong = [option for item in items.values() for option in item.options if not option.correct]
    behind = {option.misconception for option in wrong if option.misconception}
    assert BEHIND[assignment] <= behind <= KNOWN
    for item in items.values():
        for option in item.options:
            wanted = "yes" if option.correct else "look again"
            assert wanted in option.feedback.lower(), option.text


def test_the_right_option_cannot_be_told_by_its_length(items: dict[str, Item]) -> None:
    longest = [max(item.options, key=lambda one: len(one.text)).correct for item in items.values()]
    assert sum(longest) <= 2
