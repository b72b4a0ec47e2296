"""Workers on several hosts: a Dask scheduler hands students to them and notices who is lost.

Every host sees the class's folder under the same path, and the database. A host reads the address
and the password of the database where it stands; nothing secret is sent to it. A student whose
worker is lost goes to another; doing it again replaces all of it, and `only_one_worker` makes a
worker that only seemed lost finish first.
"""

from __future__ import annotations

import secrets
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from importlib.metadata import version
from typing import Any

from lengthwise.classroom.class_folder import ClassFolder, open_class
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.gradebook import check_whose, is_on_a_server
from lengthwise.classroom.grading_lock import only_one_worker
from lengthwise.classroom.local_workers import in_processes
from lengthwise.classroom.one_submission import (
    WORKER_LOST,
    Engine,
    Job,
    Outcome,
    start_worker,
    work_on,
)
from lengthwise.classroom.typed import install_hub_packages

START = "dask worker SCHEDULER --nthreads 1 --nworkers CORES"
PATIENCE_S = 10


def engine_for(taught: ClassFolder, scheduler: str) -> Engine:
    """This computer's own workers, or those of the scheduler that is named."""
    if not scheduler:
        return in_processes
    if not scheduler.startswith(("tcp://", "tls://")):
        raise ClassroomError(
            f"Field --scheduler: got {scheduler}; allowed is tcp://HOST:PORT or tls://HOST:PORT; "
            "write the address that dask scheduler printed when it started."
        )
    if not is_on_a_server(taught):
        raise ClassroomError(
            f"Field --scheduler: class {taught.name} keeps its marks in a file, which several "
            "hosts would damage; move them to a server first: lengthwise move-gradebook ADDRESS."
        )
    return partial(over_hosts, scheduler=scheduler)


def over_hosts(job: Job, students: list[str], scheduler: str) -> Iterator[Outcome]:
    """Do a job for students on all workers of a scheduler."""
    from distributed import as_completed

    run = secrets.token_hex(4)  # a result of an earlier run must not stand for this one
    with _client(scheduler) as client:
        _refuse_unready(client, job)
        waiting = {
            client.submit(
                work_on_host, job, each, key=f"{job.task}-{job.assignment}-{each}-{run}", pure=False
            ): each
            for each in students
        }
        for future in as_completed(waiting, loop=client.loop):
            student, good = waiting.pop(future), future.status == "finished"
            outcome = future.result() if good else Outcome(student, failed=_why(future))
            # What somebody still holds would be done again if the worker that has it were lost.
            del future
            yield outcome


@contextmanager
def _client(scheduler: str) -> Iterator[Any]:
    try:
        from distributed import Client
    except ModuleNotFoundError:
        raise ClassroomError(
            "Field --scheduler: the package distributed is not installed here; install it with: "
            f"{install_hub_packages()}"
        ) from None
    try:
        client = Client(scheduler, timeout=PATIENCE_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise ClassroomError(
            f"Field --scheduler: got {scheduler}, where no scheduler answered "
            f"({type(error).__name__}); start one with: dask scheduler, and name its address."
        ) from None
    with client:
        yield client


def _refuse_unready(client: Any, job: Job) -> None:
    """Every worker must see the same class, with the same library, before anything is sent."""
    found = client.run(begin, job.taught, version("lengthwise"), on_error="return")
    if not found:
        raise ClassroomError(
            "Field --scheduler: the scheduler has no workers; start some on every host with: "
            f"{START}."
        )
    for address, said in sorted(found.items()):
        if said is not None:
            raise ClassroomError(f"The worker {address} cannot grade this class: {said}")


def begin(taught: ClassFolder, library: str) -> None:
    """Run on a worker: settings are read anew, and `look_around`."""
    _Worker.taught = None
    look_around(taught, library)


def look_around(taught: ClassFolder, library: str) -> None:
    """Raise `ClassroomError` unless this host can work for the class."""
    if version("lengthwise") != library:
        raise ClassroomError(
            f"it has Lengthwise {version('lengthwise')}, and here is {library}; install the same."
        )
    if open_class(taught.root) != taught:
        raise ClassroomError(f"another class is at {taught.root} there; mount the same folder.")
    check_whose(taught)


class _Worker:
    """What a worker process keeps between students, and for which class."""

    busy = threading.Lock()  # nbgrader changes the working directory: one student a process
    taught: ClassFolder | None = None
    api: Any = None


def work_on_host(job: Job, student: str) -> Outcome:
    """Run on a worker: one student, while nobody else is at work on them."""
    with _Worker.busy:
        if _Worker.taught != job.taught:
            look_around(job.taught, version("lengthwise"))
            _Worker.api, _Worker.taught = start_worker(job.taught), job.taught
        with only_one_worker(job.taught, job.assignment, student):
            return work_on(job, _Worker.api, student)


def _why(future: Any) -> str:
    """Why a student has no outcome, in plain words."""
    from distributed.scheduler import KilledWorker

    if future.cancelled():
        return "the scheduler was lost on the way; run this again"
    error = future.exception()
    if isinstance(error, KilledWorker):
        return WORKER_LOST
    return str(error) or type(error).__name__
