"""Move the marks of a class from its file to a database on a server, with everything given by hand.

All or nothing: the rows arrive in one transaction, and ``class.toml`` names the server afterwards.
Nobody grades meanwhile. The file stays where it is, as a copy of what the marks were on that day;
a form view that was opened before goes on writing to it.
"""

from __future__ import annotations

import secrets
from dataclasses import replace
from pathlib import Path
from typing import Any

from lengthwise.classroom.class_folder import MARKER, ClassFolder, class_toml
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.gradebook import address_for_new, forget, is_on_a_server, opened_gradebook
from lengthwise.classroom.grader import find_programs_of_this_environment
from lengthwise.classroom.grading_lock import no_run_in_the_folder
from lengthwise.whole_file import write_whole


def move_gradebook(taught: ClassFolder, address: str) -> ClassFolder:
    """Copy the gradebook's file into an empty database and tell the class to use that.

    Raises `ClassroomError` where somebody grades just now, or there is nothing that can be moved.
    """
    file = taught.root / "gradebook.db"
    if taught.gradebook or not file.is_file():
        raise ClassroomError(
            f"Class {taught.name} keeps its marks in {taught.gradebook or 'no file'}; only the "
            f"file {file} can be moved. Name another address in {taught.root / MARKER} by hand."
        )
    moved = replace(taught, gradebook=address_for_new(address), id=secrets.token_hex(8))
    if not is_on_a_server(moved):
        raise ClassroomError("Name the database to move to: postgresql://USER@HOST/DATABASE.")
    find_programs_of_this_environment()
    with no_run_in_the_folder(taught):
        with opened_gradebook(moved, new=True) as target:
            try:
                _copy(file, target, moved.name)
            except BaseException:
                target.close()  # a connection that waits would keep the tables from being dropped
                forget(moved)
                raise
        write_whole(taught.root / MARKER, class_toml(moved))
    return moved


def _copy(file: Path, target: Any, course: str) -> None:
    from nbgrader.api import Assignment, Base, Course
    from sqlalchemy import create_engine, insert, select

    source = create_engine(f"sqlite:///{file}")
    with source.connect() as old, target.engine.begin() as new:
        for table in Base.metadata.sorted_tables:
            rows = [dict(row) for row in old.execute(select(table)).mappings()]
            if table is Assignment.__table__:
                rows = [{**row, "course_id": course} for row in rows]
            if rows and table is not Course.__table__:  # the target has entered its course
                new.execute(insert(table), rows)
    source.dispose()
