"""Killed on the way and started again: the gradebook of an undisturbed run, and nothing lost."""

from __future__ import annotations

import json
import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
import sysconfig
import time
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from grading_tools import here, one_worker
from lengthwise.classroom.answer_key import read_key
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.demo_students import STUDENTS as INVENTED
from lengthwise.classroom.demo_students import answer_sources
from lengthwise.classroom.gradebook import gradebook_url
from lengthwise.classroom.local_workers import in_processes
from lengthwise.classroom.marks_table import marks_table
from lengthwise.classroom.one_submission import Outcome
from lengthwise.classroom.workers import run_for_each
from nbgrader.api import Gradebook

ASSIGNMENT = "a6_reconcile"
CHANGED = "On second thoughts. "
STUDENTS = ["ada", "ben", "cal"]
two_workers = partial(in_processes, workers=2)
HAND_MARKS = (("ada", "reason", 3.0), ("ada", "q1_check", 2.5), ("ben", "reason", 2.0))


def file_of(taught: ClassFolder, student: str) -> Path:
    return taught.submission_folder(student, ASSIGNMENT) / f"{ASSIGNMENT}.ipynb"


@pytest.fixture(scope="session")
def marked_by_hand(small_class: ClassFolder, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three students, graded; hand marks and comments; then two of the answers change.

    Ada's reason is marked and stays; a point that she got for q1 was set by hand, and then she
    changes q1. Ben's reason is marked, and then he changes it. Nobody has marked Cal's yet.
    """
    root = tmp_path_factory.mktemp("killed") / "small"
    shutil.copytree(small_class.root, root)
    taught = open_class(root)
    released = json.loads(taught.released_notebook(ASSIGNMENT).read_text("utf-8"))
    for student in STUDENTS:
        sources = answer_sources(INVENTED[0], read_key(taught, ASSIGNMENT).of(student))
        notebook = filled_in(released, {**sources, "identity": f'student_id = "{student}"'})
        file_of(taught, student).parent.mkdir(parents=True)
        file_of(taught, student).write_text(json.dumps(notebook), encoding="utf-8")
    outcomes = run_for_each("autograde", taught, ASSIGNMENT, STUDENTS, engine=here)
    assert [one.failed for one in outcomes] == ["", "", ""]
    with Gradebook(gradebook_url(taught)) as gradebook:
        for student, part, points in HAND_MARKS:
            grade = gradebook.find_grade(part, ASSIGNMENT, ASSIGNMENT, student)
            grade.manual_score, grade.needs_manual_grade = points, False
            comment = gradebook.find_comment("reason", ASSIGNMENT, ASSIGNMENT, student)
            comment.manual_comment = f"For {student}: which film?"
        gradebook.db.commit()
    for student, name in (("ada", "q1"), ("ben", "reason")):
        notebook = json.loads(file_of(taught, student).read_text("utf-8"))
        cell = next(one for one in notebook["cells"] if one["id"] == name)
        cell["source"] = {"q1": "next_step = 'ask'", "reason": CHANGED + cell["source"]}[name]
        file_of(taught, student).write_text(json.dumps(notebook), encoding="utf-8")
    return root


@pytest.fixture
def copies(marked_by_hand: Path, tmp_path: Path) -> Any:
    """Makes copies of the class."""

    def copied(*names: str) -> list[ClassFolder]:
        return [open_class(Path(shutil.copytree(marked_by_hand, tmp_path / n))) for n in names]

    return copied


@pytest.fixture(scope="session")
def undisturbed(marked_by_hand: Path) -> tuple[ClassFolder, list[Outcome]]:
    """The class graded again by one worker, and how everybody fared."""
    root = marked_by_hand.with_name("undisturbed")
    taught = open_class(Path(shutil.copytree(marked_by_hand, root)))
    return taught, run_for_each("autograde", taught, ASSIGNMENT, STUDENTS, engine=one_worker)


def everything(taught: ClassFolder) -> dict[str, Any]:
    """All that grading leaves behind: marks, comments, records, marked copies, feedback pages."""
    kept: dict[str, Any] = {}
    with Gradebook(gradebook_url(taught)) as gradebook:
        for saved in gradebook.notebook_submissions(ASSIGNMENT, ASSIGNMENT):
            for one in saved.grades:
                kept[f"{saved.student.id} {one.name}"] = (
                    *(one.auto_score, one.manual_score, one.extra_credit),
                    *(one.needs_manual_grade, one.score),
                )
            for one in saved.comments:
                kept[f"{saved.student.id} {one.name} said"] = (
                    *(one.auto_comment, one.manual_comment),
                )
    for folder in ("records", "autograded", "feedback"):
        for path in sorted((taught.root / folder).rglob("*.*")):
            # A killed run may leave a draft; nobody reads it, and a later run clears it away.
            if path.is_file() and path.suffix not in (".zip", ".making"):
                kept[path.relative_to(taught.root).as_posix()] = path.read_text("utf-8")
    return kept


@pytest.mark.slow
def test_hand_marks_and_comments_survive_and_wait_again_where_the_answer_changed(
    undisturbed: tuple[ClassFolder, list[Outcome]],
) -> None:
    taught, outcomes = undisturbed
    said = {one.student: one for one in outcomes}
    assert said["ada"].by_hand == ("q1",)
    assert said["ben"].by_hand == said["cal"].by_hand == ("reason",)
    assert "q1 changed after 2.5 points by hand; mark it again" in said["ada"].line
    assert "reason changed after 2 points by hand; mark it again" in said["ben"].line
    rows = {row.student: row for row in marks_table(taught, ASSIGNMENT).rows}
    assert rows["ada"].points["reason"] == 3.0
    assert rows["ben"].points["reason"] == 2.0
    assert "reason changed after 2 points by hand" in rows["ben"].remark
    assert rows["cal"].remark == ""
    with Gradebook(gradebook_url(taught)) as gradebook:
        comment = gradebook.find_comment("reason", ASSIGNMENT, ASSIGNMENT, "ben")
        assert comment.comment == "For ben: which film?"


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that can fork a process")
@pytest.mark.parametrize(("task", "times"), [("autograde", 5), ("generate_feedback", 3)])
def test_killed_at_moments_from_the_first_change_to_the_last_and_started_again_ends_as_undisturbed(
    marked_by_hand: Path, copies: Any, task: Any, times: int
) -> None:
    names = ("undisturbed", "counted", *(f"killed-{number}" for number in range(times)))
    folders: list[ClassFolder] = copies(*names)
    for taught in folders:
        shutil.rmtree(taught.root / "submitted" / "cal")
    if task == "generate_feedback":
        for taught in folders:
            shutil.rmtree(taught.root / "submitted" / "ada")
    done = subprocess.run(
        [sys.executable, "-W", "ignore", Path(__file__).with_name("killed.py"), task, ASSIGNMENT]
        + [taught.root for taught in folders],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout + done.stderr[-3000:]
    wanted = everything(folders[0])
    assert wanted != everything(open_class(marked_by_hand))
    for taught in folders[1:]:
        assert everything(taught) == wanted, f"{taught.root.name}: {done.stdout}"


@pytest.mark.slow
def test_one_worker_two_workers_a_killed_worker_and_a_killed_command_give_the_same(
    undisturbed: tuple[ClassFolder, list[Outcome]], copies: Any
) -> None:
    wanted = everything(undisturbed[0])
    worker, command = copies("worker", "command")
    seen = []

    def kill_one_at_first(outcome: Outcome) -> None:
        seen.append(outcome.student)
        if len(seen) == 1:
            os.kill(multiprocessing.active_children()[0].pid or 0, signal.SIGKILL)

    outcomes = run_for_each(
        "autograde", worker, ASSIGNMENT, STUDENTS, kill_one_at_first, two_workers
    )
    assert [each.student for each in outcomes if not each.failed] == sorted(seen) == STUDENTS
    assert everything(worker) == wanted
    kill_the_command(command)
    run_for_each("autograde", command, ASSIGNMENT, STUDENTS, engine=two_workers)
    assert everything(command) == wanted


def kill_the_command(taught: ClassFolder) -> None:
    """Start grading for real, kill the command in the middle, wait until its workers are gone."""
    program = Path(sysconfig.get_path("scripts")) / "lengthwise"
    before = set(taught.root.glob("autograded/*/*/*.ipynb"))
    assert before
    stamps = {path: path.stat().st_mtime_ns for path in before}
    grading = subprocess.Popen(
        [program, "grade"],
        cwd=taught.root,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    while grading.poll() is None and all(
        path.exists() and path.stat().st_mtime_ns == stamps[path] for path in before
    ):
        time.sleep(0.02)
    grading.kill()
    assert grading.wait() == -signal.SIGKILL
    for _ in range(500):
        try:
            os.killpg(grading.pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.02)
    raise AssertionError("a worker of a killed command is still there")
