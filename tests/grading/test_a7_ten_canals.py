"""Assignment a7: its notebook, and its way through nbgrader."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from grading_tools import (
    class_with,
    feedback_of,
    hand_in_and_grade,
    letters,
    source_of_assignment,
    typed,
)
from lengthwise.classroom.answer_form import FIELDS
from lengthwise.classroom.answer_key import StudentKey, read_key
from lengthwise.classroom.cells import label, source_of
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.read_answers import read_cell
from lengthwise.evidence import Evidence
from lengthwise.marking.believers import believers_answer, careful_answer
from lengthwise.marking.determination import Determination
from lengthwise.marking.graded_case import GradedCase
from lengthwise.marking.marks import mark
from lengthwise.reconciliation import reconcile

ASSIGNMENT = "a7_ten_canals"
TARGET_MM, MANY = 0.5, 20
QUESTIONS = [f"q{n}" for n in range(1, 11)]
ITEMS = ["i1", "i2", "i3", "i4"]

Drawn = dict[str, GradedCase]


@pytest.fixture(scope="module")
def notebook(course: Path) -> dict[str, Any]:
    return source_of_assignment(course, ASSIGNMENT)


# --- the notebook ---------------------------------------------------------------------------------


def test_every_canal_asks_for_a_determination(notebook: dict[str, Any]) -> None:
    cells = {label(cell): source_of(cell) for cell in notebook["cells"]}
    for name in QUESTIONS:
        assert tuple(read_cell(cells[name]).values) == FIELDS
        assert cells[f"{name}_check"] == f'check("{name}", {", ".join(FIELDS)})'
    assert "a6" not in json.dumps(notebook)


# --- all the way through nbgrader -----------------------------------------------------------------


def cells_of(key: StudentKey, belief: str) -> dict[str, str]:
    cells = {name: typed({name: one}) for name, one in letters(key, belief).items()}
    for name, case in key.cases.items():
        assert isinstance(case, GradedCase)
        result = reconcile(case.evidence, target_mm=TARGET_MM)
        answer = as_typed(believers_answer(belief, result))
        cells[name] = typed(answer)
    return cells | {"reason": "In the canal of tooth 13 I trusted the reading least: it jumped."}


def as_typed(answer: Determination) -> dict[str, float | str | None]:
    values = {name: getattr(answer, name) for name in FIELDS}
    return {k: round(v, 2) if isinstance(v, float) else v for k, v in values.items()}


@pytest.fixture(scope="module")
def taught(tmp_path_factory: pytest.TempPathFactory, course: Path) -> ClassFolder:
    return class_with(ASSIGNMENT, tmp_path_factory.mktemp("ten"), course)


@pytest.mark.slow
def test_a_program_earns_every_length_from_what_is_handed_out_as_the_guide_says(
    taught: ClassFolder,
) -> None:
    """No id, nothing typed. `instructor_guide/open_tools.md` tells instructors so."""
    told = json.loads((taught.release_folder(ASSIGNMENT) / "cases.json").read_text("utf-8"))
    student = next(iter(told["students"].values()))
    found = {
        name: reconcile(Evidence.from_json(json.dumps(case)), target_mm=told["target_mm"])
        for name, case in student["cases"].items()
    }
    assert sum(result.working_length_mm is None for result in found.values()) == 3
    first = next(iter(read_key(taught, ASSIGNMENT).students.values()))
    for name, case in first.cases.items():
        assert isinstance(case, GradedCase)
        assert mark(careful_answer(found[name]), case).share == pytest.approx(1.0, abs=0.02), name


@pytest.mark.slow
def test_a_careful_student_earns_sixteen_before_the_reason_and_a_believer_what_is_left(
    tmp_path: Path, taught: ClassFolder
) -> None:
    key = read_key(taught, ASSIGNMENT)
    cells = {"ada": cells_of(key.of("ada"), "none"), "ben": cells_of(key.of("ben"), "M13")}
    earned = hand_in_and_grade(taught, ASSIGNMENT, tmp_path, cells)
    assert earned["ada"]["total"] == pytest.approx(16, abs=0.05)
    # By hand: whoever goes longer earns nothing for one canal, and the item says it again.
    dry = next(n for n, one in key.of("ben").cases.items() if one.trap.startswith("not yet: dry"))
    assert {one for one, points in earned["ben"].items() if points == 0} == {dry, "i2", "reason"}
    assert earned["ben"]["total"] == pytest.approx(16 - 1.2 - 1, abs=0.05)
    assert earned["ada"]["by_hand"] == earned["ben"]["by_hand"] == 1
    page = feedback_of(taught, ASSIGNMENT, "ben")
    assert "dry point always meant" in page
    assert "Strip chart" in page
    assert "look as if" not in feedback_of(taught, ASSIGNMENT, "ada")
    released = (taught.release_folder(ASSIGNMENT) / "cases.json").read_text(encoding="utf-8")
    for student in key.students.values():
        for case in student.cases.values():
            assert isinstance(case, GradedCase)
            assert str(case.foramen_mm) not in released
            assert case.trap not in released
