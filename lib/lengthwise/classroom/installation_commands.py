"""Commands for whoever looks after the installation: where marks are kept, what is amiss."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lengthwise.classroom.command_words import (
    HERE,
    ClassOption,
    CourseOption,
    fail,
    out,
    say_next,
)

if TYPE_CHECKING:
    from lengthwise.classroom.doctor import Finding

commands = typer.Typer()


@commands.command("move-gradebook")
def move_gradebook(
    address: Annotated[
        str,
        typer.Argument(
            help="An empty database: postgresql://USER@HOST/DATABASE; left out: the one that the "
            "variable LENGTHWISE_GRADEBOOK names."
        ),
    ] = "",
    class_: ClassOption = HERE,
) -> None:
    """Move the marks of a class from its file to a database on a server."""
    from lengthwise.classroom.class_folder import open_class
    from lengthwise.classroom.gradebook import shown_address
    from lengthwise.classroom.gradebook_move import move_gradebook as move
    from lengthwise.classroom.typed import command

    taught = open_class(class_)
    moved = move(taught, address)
    out.print(
        f"The marks of {moved.name} are now in {shown_address(moved.gradebook)}; the file "
        "gradebook.db stays as a copy of this day.",
    )
    out.print(
        "A form view that was open meanwhile still writes to the file: close it, and open it anew."
    )
    say_next(command("marks", moved, moved.assignments[0]))


@commands.command()
def doctor(
    class_: Annotated[
        Path | None,
        typer.Option("--class", help="A class's folder, to look at too; left out: where you are."),
    ] = None,
    course: CourseOption = None,
) -> None:
    """Try whether everything works here, and say what to mend."""
    from lengthwise.classroom.class_folder import MARKER, open_class
    from lengthwise.classroom.doctor import checks_of_computer, examine
    from lengthwise.classroom.doctor_class import checks_of_class
    from lengthwise.classroom.doctor_server import form_view, kernel, page, started
    from lengthwise.classroom.new_class import course_folder
    from lengthwise.classroom.typed import command

    here = Path.cwd()
    in_a_class = any((folder / MARKER).is_file() for folder in (here, *here.parents))
    taught = open_class(class_ or here) if class_ or in_a_class else None
    pages = (course or course_folder()).resolve()
    first = checks_of_computer(taught.root if taught else here, pages)
    amiss = show(examine([*first, *(checks_of_class(taught) if taught else ()), kernel]))
    with started(pages, taught) as server:
        last = [lambda: page(server, pages)]
        if taught is not None:
            last.insert(0, partial(form_view, server, taught))
        amiss += show(examine(last))
    if amiss:
        fail(f"{amiss} to mend: the first one first, then run this again.")
    out.print("All is well.")
    if taught is None:
        say_next("make a class with new-class, or look at one with --class FOLDER")
    elif not any(map(taught.submitted_students, taught.assignments)):
        say_next(command("collect FOLDER", taught, taught.assignments[0]))


def show(findings: Iterator[Finding]) -> int:
    """Say each finding as it comes; how many want mending."""
    amiss = 0
    for one in findings:
        out.print(f"  {'MEND' if one.mend else 'well'}  {one.tried}: {one.came}")
        if one.mend:
            amiss += 1
            out.print(f"        {one.mend[0].upper()}{one.mend[1:]}.")
    return amiss
