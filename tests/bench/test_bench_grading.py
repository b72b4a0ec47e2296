"""Reading the answers of 24 submissions against executing their notebooks, in one run."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import sysconfig
import time
from pathlib import Path

import pytest
from lengthwise.classroom import new_class
from lengthwise.classroom.answer_key import AnswerKey, draw_key, read_key
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.demo_students import STUDENTS, answer_sources
from lengthwise.classroom.marks_table import marks_table
from lengthwise.classroom.roster import Student

ASSIGNMENT = "a6_reconcile"
SUBMISSIONS = 24
EXECUTED = 6
"""So many of them are executed; the others would take three times as long again."""

GOAL = 8.0
"""On two cores. 8.3 to 10.7 were seen on quiet machines; how long stock takes varies most."""


def class_of_24(where: Path, course: Path, patch: pytest.MonkeyPatch) -> ClassFolder:
    """24 students share two students' cases: drawing cases is not what is measured."""

    def two_keys(
        taught: ClassFolder, assignment: str, students: list[str], *rest: object
    ) -> object:
        drawn = draw_key(taught, assignment, students[:2], b"bench")
        ones = list(drawn.students.values())
        shared = {student: ones[n % 2] for n, student in enumerate(students)}
        return AnswerKey(taught.name, assignment, shared)

    patch.setattr(new_class, "draw_key", two_keys)
    students = tuple(Student(f"student-{number:02}") for number in range(1, SUBMISSIONS + 1))
    taught = new_class.make_class(
        "bench",
        students,
        target_mm=0.5,
        where=where,
        course=course,
        assignments=(ASSIGNMENT,),
    )
    released = json.loads(taught.released_notebook(ASSIGNMENT).read_text("utf-8"))
    for one in students:
        sources = answer_sources(STUDENTS[0], read_key(taught, ASSIGNMENT).of(one.id))
        notebook = filled_in(released, {**sources, "identity": f'student_id = "{one.id}"'})
        folder = taught.submission_folder(one.id, ASSIGNMENT)
        folder.mkdir(parents=True)
        (folder / f"{ASSIGNMENT}.ipynb").write_text(json.dumps(notebook), encoding="utf-8")
    return taught


def execute(stock: Path) -> float:
    """Seconds that stock nbgrader takes for all submissions, from some of them and its start."""
    command = [sys.executable, "-m", "nbgrader", "autograde", ASSIGNMENT]
    some = seconds(command, stock)
    only_start = seconds(command, stock)  # nothing is left to be graded
    return only_start + (some - only_start) * SUBMISSIONS / EXECUTED


def seconds(command: list[str], folder: Path) -> float:
    scripts = sysconfig.get_path("scripts")
    environment = {**os.environ, "PATH": scripts + os.pathsep + os.environ["PATH"]}
    start = time.perf_counter()
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    return time.perf_counter() - start


@pytest.mark.slow
def test_reading_answers_is_several_times_faster_than_running_notebooks(
    tmp_path: Path,
    repo_root: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    taught = class_of_24(tmp_path, repo_root / "course", monkeypatch)
    stock = tmp_path / "stock"
    shutil.copytree(taught.root, stock)
    (stock / "nbgrader_config.py").write_text("c = get_config()\n", encoding="utf-8")
    for number, folder in enumerate(sorted((stock / "submitted").glob(f"*/{ASSIGNMENT}"))):
        if number < EXECUTED:
            shutil.copy(taught.release_folder(ASSIGNMENT) / "cases.json", folder)
        else:
            shutil.rmtree(folder.parent)

    scripts = Path(sysconfig.get_path("scripts"))
    read = [str(scripts / "lengthwise"), "grade"]
    first = seconds(read, taught.root)
    running = execute(stock)
    reading = min(first, seconds(read, taught.root))  # the short one is easily disturbed

    rows = marks_table(taught, ASSIGNMENT).rows
    assert [row.total for row in rows] == [16.0] * SUBMISSIONS
    executed = [path.read_text("utf-8") for path in stock.glob("autograded/*/*/*.ipynb")]
    assert len(executed) == EXECUTED
    for text in executed:
        assert "Case q1. Tooth" in text
        assert "the form is right" in text

    ratio = running / reading
    said = f"run {running:.1f} s, read {reading:.1f} s: {ratio:.1f} times (goal {GOAL:g})"
    with capsys.disabled():
        sys.stdout.write(f"\n  {said}\n")
    assert ratio >= GOAL, said
