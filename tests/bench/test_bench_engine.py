"""300 submissions over two workers of a scheduler on PostgreSQL, one of them killed on the way.

Some of the class are graded once more, one student after the other, with their marks in a file: of
every kind of student at least five; the others of a kind have to come out as these. How fast two
workers are against one is measured within the spread run: before the kill and after it.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import sysconfig
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest
from grading_tools import exercise_cells, one_worker
from lengthwise.classroom import new_class
from lengthwise.classroom.answer_key import AnswerKey, draw_key, read_key
from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.dask_workers import over_hosts
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.gradebook import opened_gradebook
from lengthwise.classroom.gradebook_move import move_gradebook
from lengthwise.classroom.one_submission import Outcome
from lengthwise.classroom.roster import Student
from lengthwise.classroom.workers import run_for_each
from postgres_server import PostgresServer, postgres_server
from sqlalchemy import text

ASSIGNMENT = "a1_landmarks"
SUBMISSIONS = 300
CASES, BELIEFS = 4, ("", "M1", "M3")
KINDS = CASES * len(BELIEFS)
"""Student n has the case and the belief of student n + 12."""
AGAIN = 5 * KINDS
"""So many, the first ones, are graded once more by one worker."""
KILLED_AT = "student-200"
WARM = 20
"""Outcomes that are not timed: imports, first connections, and the moment of the kill."""
ROW = 25
GOAL = 1.8
FLOOR = 1.3
"""Two cores carry two workers, the database, the scheduler and this test."""
NO_PROFILE = {"DASK_DISTRIBUTED__WORKER__PROFILE__ENABLED": "False"}
HOOK = f"""
import os, signal
from pathlib import Path
def note(assignment, student, notebooks):
    with Path("done").open("a") as done:
        done.write(student + " " + str(os.getpid()) + "\\n")
    if student == "{KILLED_AT}" and Path("kill").exists():
        Path("kill").unlink()
        os.kill(os.getpid(), signal.SIGKILL)
get_config().Autograde.post_convert_hook = note
"""


class Clock:
    """When each student was done."""

    def __init__(self) -> None:
        self.students: list[str] = []
        self.at_s: list[float] = []

    def __call__(self, outcome: Outcome) -> None:
        self.students.append(outcome.student)
        self.at_s.append(time.perf_counter())

    def rate(self, first: int, last: int) -> float:
        """Students a second, in the quickest row between two outcomes.

        Whatever else the machine does for a moment slows a row; the quickest is least disturbed.
        """
        rows = range(first, last - ROW)
        return max(ROW / (self.at_s[each + ROW] - self.at_s[each]) for each in rows)


def class_of_300(where: Path, course: Path, patch: pytest.MonkeyPatch) -> ClassFolder:
    """300 students share four students' cases: drawing cases is not what is measured."""

    def four_keys(
        taught: ClassFolder, assignment: str, students: list[str], *rest: object
    ) -> object:
        ones = list(draw_key(taught, assignment, students[:CASES], b"bench").students.values())
        shared = {student: ones[n % CASES] for n, student in enumerate(students)}
        return AnswerKey(taught.name, assignment, shared)

    patch.setattr(new_class, "draw_key", four_keys)
    students = [f"student-{number:03}" for number in range(1, SUBMISSIONS + 1)]
    taught = new_class.make_class(
        "spread",
        tuple(map(Student, students)),
        target_mm=0.5,
        where=where,
        course=course,
        assignments=(ASSIGNMENT,),
    )
    released = json.loads(taught.released_notebook(ASSIGNMENT).read_text("utf-8"))
    key = read_key(taught, ASSIGNMENT)
    for number, student in enumerate(students):
        cells = exercise_cells(key.of(student), BELIEFS[number % len(BELIEFS)])
        notebook = filled_in(released, {**cells, "identity": f'student_id = "{student}"'})
        folder = taught.submission_folder(student, ASSIGNMENT)
        folder.mkdir(parents=True)
        (folder / f"{ASSIGNMENT}.ipynb").write_text(json.dumps(notebook), encoding="utf-8")
    with (taught.root / "nbgrader_config.py").open("a", encoding="utf-8") as config:
        config.write(HOOK)
    return taught


def on_the_server(taught: ClassFolder, server: PostgresServer) -> ClassFolder:
    """A copy of the class with its marks in a database."""
    root = Path(shutil.copytree(taught.root, taught.root.with_name("several")))
    server.make_database("several")
    return move_gradebook(
        open_class(root), f"postgresql://lengthwise@127.0.0.1:{server.port}/several"
    )


MARKS = """SELECT a.student_id, c.name, g.auto_score, g.manual_score, g.needs_manual_grade
FROM grade g JOIN submitted_notebook n ON g.notebook_id = n.id
JOIN submitted_assignment a ON n.assignment_id = a.id JOIN base_cell c ON g.cell_id = c.id"""


Kept = dict[str, tuple[list[list[str]], dict[str, str]]]


def kept(taught: ClassFolder, students: list[str]) -> Kept:
    """All that grading leaves behind of each student: every mark in the gradebook, every file."""
    with opened_gradebook(taught) as gradebook:
        rows = gradebook.db.execute(text(MARKS)).all()
    marks = sorted([*map(str, row[:-1]), str(bool(row[-1]))] for row in rows)
    paths = [p for folder in ("records", "autograded") for p in (taught.root / folder).rglob("*.*")]
    files = {p.relative_to(taught.root).as_posix(): p.read_text("utf-8") for p in paths}
    assert {student for student, *_ in marks} == set(students)
    assert all(any(student in name for student in students) for name in files)
    return {
        student: (
            [rest for one, *rest in marks if one == student],
            {name: words for name, words in files.items() if student in name},
        )
        for student in students
    }


def as_another(kept_of: Kept, student: str, other: str) -> str:
    """What is kept of a student, as if it were of another one."""
    return repr(kept_of[student]).replace(student, other)


@contextmanager
def two_hosts(folder: Path, password: str) -> Iterator[str]:
    """A scheduler and two worker processes, which know the password themselves; its address."""
    from distributed import Client

    told = folder / "scheduler.json"
    here = ["--host", "127.0.0.1", "--no-dashboard", "--scheduler-file", str(told)]

    def start(*words: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [Path(sysconfig.get_path("scripts")) / "dask", *words, *here],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=folder,
            env={**os.environ, "PGPASSWORD": password, **NO_PROFILE},
        )

    started = [start("scheduler", "--port", "0")]
    try:
        started += [start("worker", "--nthreads", "1", "--no-nanny") for _ in range(2)]
        while not told.exists():
            assert started[0].poll() is None
            time.sleep(0.1)
        address = str(json.loads(told.read_text("utf-8"))["address"])
        with Client(address, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=60)
        yield address
    finally:
        for process in reversed(started):
            process.kill()
            process.wait()


@pytest.mark.slow
@pytest.mark.postgresql
@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs a system that can kill a process")
def test_two_workers_one_of_them_killed_mark_300_submissions_once_each_as_one_worker_does(
    tmp_path: Path,
    repo_root: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    begun = time.perf_counter()
    serial = class_of_300(tmp_path, repo_root / "course", monkeypatch)
    students = serial.submitted_students(ASSIGNMENT)
    alone, together = Clock(), Clock()
    with postgres_server() as server, two_hosts(tmp_path, server.password) as scheduler:
        monkeypatch.setenv("PGPASSWORD", server.password)
        spread = on_the_server(serial, server)
        (spread.root / "kill").touch()
        prepared = time.perf_counter()
        wanted = run_for_each("autograde", serial, ASSIGNMENT, students[:AGAIN], alone, one_worker)
        served = partial(over_hosts, scheduler=scheduler)
        outcomes = run_for_each("autograde", spread, ASSIGNMENT, students, together, served)
        found = kept(spread, students)
    took_s = time.perf_counter() - prepared

    assert [one.failed for one in outcomes] == [""] * SUBMISSIONS
    assert Counter(together.students) == Counter(students)
    assert outcomes[:AGAIN] == wanted
    by_one = kept(serial, students[:AGAIN])
    assert {student: found[student] for student in by_one} == by_one
    for number, student in enumerate(students):
        marks, files = found[student]
        assert len({part for part, *_ in marks}) == len(marks) == 8
        assert files
        first_of_kind = students[number % KINDS]
        assert as_another(found, student, first_of_kind) == repr(by_one[first_of_kind])
    all_marks = {tuple(mark) for marks, _ in found.values() for mark in marks}
    assert len(all_marks) > 8, "students differ in every kind of part"

    done = [line.split() for line in (spread.root / "done").read_text().splitlines()]
    # The killed worker's student was marked already, and is marked again by the other one; so is
    # at most one whose marks were saved when the word of it had not arrived yet.
    assert SUBMISSIONS < len(done) <= SUBMISSIONS + 2
    first, second = (process for student, process in done if student == KILLED_AT)
    assert first != second
    assert {process for _, process in done} == {first, second}
    with_two = max(n for n, (_, process) in enumerate(done) if process == first) - 1

    last = SUBMISSIONS - 1
    one, file = together.rate(with_two + WARM, last), alone.rate(WARM, AGAIN - 1)
    two = together.rate(2 * with_two + WARM - last, with_two)  # as many rows as with one
    said = (
        f"{one:.1f} a second with 1 worker, {two:.1f} with 2: {two / one:.2f} times (goal "
        f"{GOAL:g}; one process and a file {file:.1f}); {prepared - begun:.0f} s to make, "
        f"{took_s:.0f} s to grade"
    )
    with capsys.disabled():
        sys.stdout.write(f"\n  {said}\n")
    assert two / one >= FLOOR, said
