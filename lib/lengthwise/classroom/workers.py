"""Grade a class with long-lived worker processes, one student at a time in each.

nbgrader takes seconds to import and changes the working directory as it goes, so every core gets
one process that imports it once and then works through students. A student whose file cannot
be graded is one failed line; the others are not touched by it.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import warnings
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.grader import grader, said_in_plain_words
from lengthwise.classroom.grading_record import GradingRecord, read_record
from lengthwise.classroom.handed_in import parsed_notebook, refuse_odd_files
from lengthwise.classroom.marks_table import waiting_for_hand

Task = Literal["autograde", "generate_feedback"]


@dataclass(frozen=True)
class Outcome:
    """How one student's file fared.

    ``failed`` is empty, or says why in plain words; ``by_hand`` names the parts that an
    instructor has still to mark.
    """

    student: str
    failed: str = ""
    record: GradingRecord | None = None
    by_hand: tuple[str, ...] = ()

    @property
    def line(self) -> str:
        """What to say of this student, in one line."""
        if self.failed:
            return f"failed: {self.failed}"
        return "; ".join(["graded", *(self.record.remarks if self.record else ())])


def run_for_each(
    task: Task,
    taught: ClassFolder,
    assignment: str,
    students: Iterable[str],
    on_done: Callable[[Outcome], None] = lambda _: None,
) -> list[Outcome]:
    """Let nbgrader grade, or write feedback for, each student; outcomes in order of ids.

    ``on_done`` is called once a student, as they finish.
    """
    waiting = sorted(students)
    done = _run(task, taught, assignment, waiting, on_done)
    for student in waiting:
        if student not in done:  # a worker ended under it or beside it: alone, it harms nobody
            done |= _run(task, taught, assignment, [student], on_done)
        if student not in done:
            done[student] = Outcome(student, failed="its grading process ended unexpectedly")
            on_done(done[student])
    return [done[student] for student in waiting]


def _run(
    task: Task,
    taught: ClassFolder,
    assignment: str,
    students: list[str],
    on_done: Callable[[Outcome], None],
) -> dict[str, Outcome]:
    if not students:
        return {}
    done: dict[str, Outcome] = {}
    workers = min(os.cpu_count() or 1, len(students))
    with ProcessPoolExecutor(
        workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_start_worker,
        initargs=(str(taught.root),),
    ) as pool:
        waiting = [pool.submit(_work_on, task, assignment, student) for student in students]
        try:
            for finished in as_completed(waiting):
                outcome = finished.result()
                done[outcome.student] = outcome
                on_done(outcome)
        except BrokenProcessPool:
            return done
    return done


class _Worker:
    """What a worker process keeps between students."""

    taught: ClassFolder
    api: Any


def _start_worker(root: str) -> None:
    warnings.simplefilter("ignore")  # nbgrader's own, about its database session
    # jsonschema would parse a grammar of web addresses, for a second, that no notebook holds.
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    for library in ("OPENBLAS", "MKL", "OMP"):  # one core a process; NumPy is not loaded yet
        os.environ[f"{library}_NUM_THREADS"] = "1"
    _Worker.taught = open_class(Path(root))
    _Worker.api = grader(_Worker.taught)


def _work_on(task: Task, assignment: str, student: str) -> Outcome:
    taught = _Worker.taught
    try:
        if task == "autograde":
            folder = taught.submission_folder(student, assignment)
            refuse_odd_files(folder)
            parsed_notebook((folder / f"{assignment}.ipynb").read_bytes())
        result = getattr(_Worker.api, task)(assignment, student, force=True)
    except Exception as error:  # whatever happens to one student stays with that student
        return Outcome(student, failed=str(error) or type(error).__name__)
    if not result["success"]:
        return Outcome(student, failed=said_in_plain_words(result))
    return Outcome(
        student,
        record=read_record(taught, student, assignment),
        by_hand=waiting_for_hand(taught, student, assignment),
    )
