"""Grade a class with long-lived worker processes, one student at a time in each.

nbgrader takes seconds to import and changes the working directory as it goes, so every core gets
one process that imports it once and then works through students. A student whose file cannot
be graded is one failed line; the others are not touched by it.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
import warnings
from collections.abc import Callable, Iterable
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, Literal

from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.grader import grader, said_in_plain_words
from lengthwise.classroom.grading_record import GradingRecord, read_record
from lengthwise.classroom.handed_in import refuse_odd_files
from lengthwise.classroom.notebook_file import parsed_notebook

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
    workers: int | None = None,
) -> list[Outcome]:
    """Let nbgrader grade, or write feedback for, each student; outcomes in order of ids.

    ``on_done`` is called once a student, as they finish. There are as many ``workers`` as cores
    if nothing else is said.
    """
    waiting = sorted(students)
    count = workers or os.cpu_count() or 1
    done: dict[str, Outcome] = {}

    def finish(outcome: Outcome) -> None:
        done[outcome.student] = outcome
        on_done(outcome)

    suspects: list[str] = []
    while left := [each for each in waiting if each not in done and each not in suspects]:
        # Whoever was being worked on when a process ended comes last, and alone: it harms nobody.
        suspects += _run(task, taught, assignment, left, count, finish)
    for student in suspects:
        _run(task, taught, assignment, [student], 1, finish)
        if student not in done:
            finish(Outcome(student, failed="its grading process ended unexpectedly"))
    return [done[student] for student in waiting]


def _run(
    task: Task,
    taught: ClassFolder,
    assignment: str,
    students: list[str],
    workers: int,
    finish: Callable[[Outcome], None],
) -> list[str]:
    """Work through the students; those at work when a process ended are returned."""
    queue = iter(students)
    at_work: dict[Future[Outcome], str] = {}
    with ProcessPoolExecutor(
        min(workers, len(students)),
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_start_worker,
        initargs=(str(taught.root),),
    ) as pool:
        try:
            for student in islice(queue, workers):
                at_work[pool.submit(_work_on, task, assignment, student)] = student
            while at_work:
                for each in wait(at_work, return_when=FIRST_COMPLETED).done:
                    finish(each.result())
                    del at_work[each]
                    for student in islice(queue, 1):
                        at_work[pool.submit(_work_on, task, assignment, student)] = student
        except BrokenProcessPool:
            return list(at_work.values())
    return []


class _Worker:
    """What a worker process keeps between students."""

    taught: ClassFolder
    api: Any


def _start_worker(root: str) -> None:
    threading.Thread(target=_end_with_the_command, daemon=True).start()
    warnings.simplefilter("ignore")  # nbgrader's own, about its database session
    # jsonschema would parse a grammar of web addresses, for a second, that no notebook holds.
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    for library in ("OPENBLAS", "MKL", "OMP"):  # one core a process; NumPy is not loaded yet
        os.environ[f"{library}_NUM_THREADS"] = "1"
    _Worker.taught = open_class(Path(root))
    _Worker.api = grader(_Worker.taught)


def _end_with_the_command() -> None:
    """A command that was killed leaves no worker behind to meddle with the next one."""
    command = multiprocessing.parent_process()
    if command is not None:
        command.join()
        os._exit(1)


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
    record = read_record(taught, student, assignment)
    return Outcome(
        student,
        record=record,
        by_hand=record.waiting if record else (),
    )
