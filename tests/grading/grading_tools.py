"""What the grading tests share besides fixtures."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sysconfig
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from lengthwise.classroom.answer_key import StudentKey
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.collect import collect
from lengthwise.classroom.demo_class import filled_in
from lengthwise.classroom.local_workers import in_processes
from lengthwise.classroom.marks_table import marks_table
from lengthwise.classroom.new_class import make_class
from lengthwise.classroom.one_submission import Job, Outcome, Task, start_worker, work_on
from lengthwise.classroom.roster import Student, class_list
from lengthwise.classroom.workers import run_for_each
from lengthwise.marking.exercise import Exercise
from lengthwise.marking.graded_case import Case

ASSIGNMENT = "a6_reconcile"
TASKS: tuple[Task, ...] = ("autograde", "generate_feedback")
one_worker = partial(in_processes, workers=1)
SMALL_CLASS = ("ada", "ben", "cal", "dee", "eli", "fay")


def here(job: Job, students: list[str]) -> Iterator[Outcome]:
    """An engine for `run_for_each`: what a worker does, without the seconds that a process takes.

    What a worker changes for good in its process is put back.
    """
    from nbgrader.api import Gradebook

    was = Gradebook.__init__, Gradebook.close
    try:
        with warnings.catch_warnings(), contextlib.chdir(job.taught.root):
            api = start_worker(job.taught)
            outcomes = [work_on(job, api, student) for student in students]
    finally:
        Gradebook.__init__, Gradebook.close = was
    yield from outcomes


def run_lengthwise(
    *arguments: str | Path, cwd: Path, limit: Callable[[], None] | None = None
) -> subprocess.CompletedProcess[str]:
    """The real command, in a process of its own; ``limit`` sets limits inside that process."""
    program = Path(sysconfig.get_path("scripts")) / "lengthwise"
    return subprocess.run(
        [str(program), *map(str, arguments)],
        cwd=cwd,
        capture_output=True,
        text=True,
        env={**os.environ, "COLUMNS": "200", "NO_COLOR": "1"},
        check=False,
        preexec_fn=limit,
    )


@dataclass(frozen=True)
class GradedDemo:
    """The demo class after demo, collect, grade, marks, feedback, and what each command said."""

    root: Path
    taught: ClassFolder
    said: dict[str, str]


Values = dict[str, float | str | None]


def class_with(
    assignment: str, where: Path, course: Path, students: tuple[str, ...] = ("ada", "ben")
) -> ClassFolder:
    """A released class with one assignment."""
    return make_class(
        "class",
        tuple(map(Student, students)),
        target_mm=0.5,
        where=where,
        course=course,
        assignments=(assignment,),
        secret=b"of the tests",
    )


def source_of_assignment(course: Path, assignment: str) -> dict[str, Any]:
    """The source notebook of an assignment."""
    path = course / "source" / assignment / f"{assignment}.ipynb"
    return dict(json.loads(path.read_text(encoding="utf-8")))


def exercises(cases: Iterable[Mapping[str, Case]]) -> Iterator[tuple[str, Exercise]]:
    """Every question of several students, all of which ask for values."""
    for one in cases:
        for name, case in one.items():
            assert isinstance(case, Exercise)
            yield name, case


def right(exercise: Exercise) -> Values:
    """What is expected, by name."""
    return {each.name: each.expected for each in exercise.asked}


def as_believed(exercise: Exercise, belief: str) -> Values:
    """Every answer that the belief leads to, and the right one elsewhere."""
    answers = right(exercise)
    for each in exercise.asked:
        for slip in reversed(each.slips):
            if slip.misconception == belief:
                answers[each.name] = slip.value
    return answers


def letters(key: StudentKey, belief: str) -> dict[str, str]:
    """For every item the option of this belief, or the right one."""
    chosen = {}
    for name, item in key.items.items():
        wrong = [x for x, option in item.lettered.items() if option.misconception == belief]
        good = [x for x, option in item.lettered.items() if option.correct]
        chosen[name] = (wrong or good)[0]
    return chosen


def typed(values: Mapping[str, object]) -> str:
    """An answer cell as it is typed; three dots where there is no answer."""
    return "\n".join(f"{k} = {'...' if v is None else repr(v)}" for k, v in values.items())


def exercise_cells(key: StudentKey, belief: str) -> dict[str, str]:
    """The answer cells of all exercises and items of a student with this belief."""
    exercises = {n: case for n, case in key.cases.items() if isinstance(case, Exercise)}
    cells = {name: typed(as_believed(case, belief)) for name, case in exercises.items()}
    return cells | {name: typed({name: one}) for name, one in letters(key, belief).items()}


def hand_in_and_grade(
    taught: ClassFolder, assignment: str, where: Path, cells: Mapping[str, Mapping[str, str]]
) -> dict[str, dict[str, float]]:
    """Collect, grade and give feedback on the notebooks that students filled in.

    What the commands do, here and with nothing said. Returns the points of every question by
    student, with "total" and, where an instructor has to look, "by_hand".
    """
    released = json.loads(taught.released_notebook(assignment).read_text(encoding="utf-8"))
    for student, answers in cells.items():
        made = filled_in(released, {"identity": f'student_id = "{student}"', **answers})
        path = where / "in" / student / f"{assignment}.ipynb"
        path.parent.mkdir(parents=True)
        path.write_text(json.dumps(made), encoding="utf-8")
    collected = collect(where / "in", taught, assignment, class_list(taught))
    assert {one.student for one in collected.taken} == set(cells)
    for task in TASKS:
        outcomes = run_for_each(task, taught, assignment, cells, engine=here)
        assert not [one for one in outcomes if one.failed]
    rows = {row.student: row for row in marks_table(taught, assignment).rows}
    return {
        student: {
            **{part: float(points or 0) for part, points in rows[student].points.items()},
            "total": float(rows[student].total or 0),
            **({"by_hand": 1.0} if rows[student].by_hand else {}),
        }
        for student in cells
    }


def feedback_of(taught: ClassFolder, assignment: str, student: str) -> str:
    """The page that a student gets back."""
    page = taught.root / "feedback" / student / assignment / f"{assignment}.html"
    return page.read_text(encoding="utf-8")
