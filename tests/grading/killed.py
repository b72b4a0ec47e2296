"""Grade a class in processes that are killed at chosen moments; for `test_killed`.

``python killed.py TASK ASSIGNMENT UNDISTURBED COUNTED COPY...`` (folders: copies of one class) does
the task in UNDISTURBED; counts the changes on disk on the way in COUNTED; and for every COPY starts
a process that is killed before one of these changes, then a second one that is left alone. The
moments are spread from the first change to the last; they are printed, with the number of changes.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from lengthwise.classroom.class_folder import open_class
from lengthwise.classroom.one_submission import Job, Task, start_worker, work_on
from sqlalchemy import event
from sqlalchemy.engine import Engine

CHANGES = {"os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.chmod"}


def work_through(folder: Path, task: Task, assignment: str) -> None:
    """Work on every student, as one worker does."""
    taught = open_class(folder)
    api = start_worker(taught)
    for student in taught.submitted_students(assignment):
        outcome = work_on(Job(task, taught, assignment), api, student)
        assert not outcome.failed, outcome


class Moments:
    """Counts the changes of a folder and of databases; kills its process before number ``last``."""

    def __init__(self, folder: Path, last: int) -> None:
        self.folder, self.last, self.passed = str(folder), last, 0
        sys.addaudithook(self._heard)  # cannot be taken off again: each stands in its own process
        event.listen(Engine, "commit", lambda _: self._one_more())

    def _one_more(self) -> None:
        self.passed += 1
        if self.passed == self.last:
            os.kill(os.getpid(), signal.SIGKILL)

    def _heard(self, what: str, details: tuple[Any, ...]) -> None:
        writes = what == "open" and set(str(details[1])) & set("wxa")
        if (writes or what in CHANGES) and str(details[0]).startswith(self.folder):
            self._one_more()


def apart(work: Callable[[], int]) -> int:
    """Do something in a process of its own; its result, or minus the signal that ended it."""
    child = os.fork()
    if child == 0:
        code = 255
        try:
            code = work()
        finally:
            os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def main(task: Any, assignment: str, *folders: str) -> None:
    """Do what the module says."""
    undisturbed, counted, *copies = map(Path, folders)

    def watched(folder: Path, last: int) -> int:
        moments = Moments(folder, last)
        work_through(folder, task, assignment)
        return moments.passed

    work_through(undisturbed, task, assignment)
    changes = apart(lambda: watched(counted, 0))
    assert len(copies) < changes < 250
    for number, copy in enumerate(copies):
        moment = 1 + round(number * (changes - 1) / (len(copies) - 1))
        assert apart(lambda: watched(copy, moment)) == -signal.SIGKILL  # noqa: B023
        assert apart(lambda: work_through(copy, task, assignment) or 0) == 0  # noqa: B023
        sys.stdout.write(f"{moment} ")
    sys.stdout.write(f"of {changes}")


if __name__ == "__main__":
    main(*sys.argv[1:])
