"""Grade a class, or write its pages, with workers on this computer or on several.

Of two runs on the same assignment the second is refused. A student whose file cannot be graded is
one failed line; the others are not touched by it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.gradebook import check_whose
from lengthwise.classroom.grader import settings_of
from lengthwise.classroom.grading_lock import only_one_run
from lengthwise.classroom.local_workers import in_processes
from lengthwise.classroom.one_submission import Engine, Job, Outcome, Task


def run_for_each(
    task: Task,
    taught: ClassFolder,
    assignment: str,
    students: Iterable[str],
    on_done: Callable[[Outcome], None] = lambda _: None,
    engine: Engine = in_processes,
) -> list[Outcome]:
    """Let nbgrader grade, or write feedback for, each student; outcomes in order of ids.

    ``on_done`` is called once a student, as they finish. ``engine`` says who does the work. Raises
    `ClassroomError` when another run is at work on the assignment, or the class's configuration
    cannot be used: once, and not for every student.
    """
    check_whose(taught)
    settings_of(taught)
    done: dict[str, Outcome] = {}
    with only_one_run(taught, assignment):
        for outcome in engine(Job(task, taught, assignment), sorted(students)):
            done[outcome.student] = outcome
            on_done(outcome)
    return [done[student] for student in sorted(done)]
