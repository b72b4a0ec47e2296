"""One student's file, graded or given its page: what every worker does, wherever it runs.

Doing it again replaces all of it, so a worker that was lost in the middle harms nothing: the marks
of a student are saved in one transaction, and the record after them.
"""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Literal

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.gradebook import opened_gradebook
from lengthwise.classroom.grader import grader, said_in_plain_words
from lengthwise.classroom.grading_record import GradingRecord, read_record
from lengthwise.classroom.handed_in import refuse_odd_files
from lengthwise.classroom.kept_gradebook import keep_gradebooks_open
from lengthwise.classroom.notebook_file import parsed_notebook

Task = Literal["autograde", "generate_feedback"]
WORKER_LOST = "its grading process ended unexpectedly"


@dataclass(frozen=True)
class Job:
    """What is to be done with every student's file."""

    task: Task
    taught: ClassFolder
    assignment: str


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


Engine = Callable[[Job, list[str]], Iterator[Outcome]]
"""Something that does a job for students: one outcome for each of them, as they finish."""


def start_worker(taught: ClassFolder) -> Any:
    """What a worker process keeps between students: nbgrader's API for the class."""
    warnings.simplefilter("ignore")  # nbgrader's own, about its database session
    # jsonschema would parse a grammar of web addresses, for a second, that no notebook holds.
    sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]
    from nbgrader.api import InvalidEntry

    keep_gradebooks_open()
    with suppress(InvalidEntry), opened_gradebook(taught):
        pass  # enters the class into an old gradebook; another worker may have done it just now
    return grader(taught)


def work_on(job: Job, api: Any, student: str) -> Outcome:
    """Grade one student's file or write its page; whatever happens stays with this student."""
    taught, assignment = job.taught, job.assignment
    try:
        if job.task == "autograde":
            folder = taught.submission_folder(student, assignment)
            refuse_odd_files(folder)
            parsed_notebook((folder / f"{assignment}.ipynb").read_bytes())
        result = getattr(api, job.task)(assignment, student, force=True)
    except Exception as error:
        return Outcome(student, failed=str(error) or type(error).__name__)
    if not result["success"]:
        return Outcome(student, failed=said_in_plain_words(result))
    record = read_record(taught, student, assignment)
    return Outcome(student, record=record, by_hand=record.waiting if record else ())
