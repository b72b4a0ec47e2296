"""Workers on this computer: long-lived processes, one a core, one student at a time in each.

nbgrader takes seconds to import and changes the working directory as it goes, so every process
imports it once and then works through students.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from typing import Any

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.one_submission import WORKER_LOST, Job, Outcome, start_worker, work_on


def in_processes(job: Job, students: list[str], workers: int | None = None) -> Iterator[Outcome]:
    """Do a job for students in as many ``workers`` as cores, if nothing else is said."""
    count = workers or os.cpu_count() or 1
    done: set[str] = set()
    suspects: list[str] = []
    while left := [each for each in students if each not in done and each not in suspects]:
        # Whoever was being worked on when a process ended comes last, and alone: it harms nobody.
        for outcome in _run(job, left, count, suspects):
            done.add(outcome.student)
            yield outcome
    for student in suspects:
        alone = list(_run(job, [student], 1, []))
        yield from alone or [Outcome(student, failed=WORKER_LOST)]


def _run(job: Job, students: list[str], workers: int, lost: list[str]) -> Iterator[Outcome]:
    """Work through the students; those at work when a process ended are added to ``lost``."""
    queue = iter(students)
    at_work: dict[Future[Outcome], str] = {}
    with ProcessPoolExecutor(
        min(workers, len(students)),
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_start,
        initargs=(job.taught,),
    ) as pool:
        try:
            for student in islice(queue, workers):
                at_work[pool.submit(_work, job, student)] = student
            while at_work:
                for each in wait(at_work, return_when=FIRST_COMPLETED).done:
                    outcome = each.result()
                    del at_work[each]
                    for student in islice(queue, 1):
                        at_work[pool.submit(_work, job, student)] = student
                    yield outcome
        except BrokenProcessPool:
            lost += at_work.values()


class _Worker:
    """What a worker process keeps between students, or why it could not begin."""

    api: Any = None
    cannot: str = ""


def _start(taught: ClassFolder) -> None:
    threading.Thread(target=_end_with_the_command, daemon=True).start()
    for library in ("OPENBLAS", "MKL", "OMP"):  # one core a process; NumPy is not loaded yet
        os.environ[f"{library}_NUM_THREADS"] = "1"
    try:
        _Worker.api = start_worker(taught)
    except Exception as error:  # an error here would end the process, and nobody would know why
        _Worker.cannot = str(error) or type(error).__name__


def _end_with_the_command() -> None:
    """A command that was killed leaves no worker behind to meddle with the next one."""
    command = multiprocessing.parent_process()
    if command is not None:
        command.join()
        os._exit(1)


def _work(job: Job, student: str) -> Outcome:
    if _Worker.cannot:
        return Outcome(student, failed=_Worker.cannot)
    return work_on(job, _Worker.api, student)
