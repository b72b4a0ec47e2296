"""What the commands share: where their words go, the options they have in common."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer
from rich.console import Console

if TYPE_CHECKING:
    from lengthwise.classroom.class_folder import ClassFolder

# Without markup: a folder may be called [old], and a word in brackets would vanish.
out = Console(highlight=False, soft_wrap=True, markup=False)
err = Console(stderr=True, highlight=False, soft_wrap=True, markup=False)

ClassOption = Annotated[
    Path, typer.Option("--class", help="The class's folder; left out: the folder you are in.")
]
AssignmentArgument = Annotated[
    str | None,
    typer.Argument(metavar="[ASSIGNMENT]", help="The assignment; left out: the class's only one."),
]
AssignmentOption = Annotated[str | None, typer.Option("--assignment", help="The same, named.")]
CourseOption = Annotated[
    Path | None, typer.Option("--course", help="The course folder, if it was moved.")
]
HERE = Path()


def say_next_ones(*ones: tuple[str, str]) -> None:
    """Several commands, one after the other, with what each is for."""
    out.print("Next, one after the other:")
    for one, what in ones:
        out.print(f"  {one}{f'   ({what})' if what else ''}")


def say_next(what: str) -> None:
    """What comes next, in one line."""
    out.print(f"Next: {what}")


def fail(sentence: str) -> NoReturn:
    """End the command with one sentence and a failure."""
    err.print(sentence)
    raise typer.Exit(1)


def made_folder(folder: Path) -> None:
    """Make the folder that something is written to; one sentence where that cannot be."""
    from lengthwise.classroom.typed import shown

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        fail(
            f"The folder {shown(folder)} cannot be made ({error.strerror}); name one in a place "
            "that you may write to."
        )


def opened(
    folder: Path, assignment: str | None, named: str | None, words: str
) -> tuple[ClassFolder, str]:
    """The class, and the assignment that was named either way.

    ``words`` are those of the command, to be typed again where it named none of the class's.
    """
    from lengthwise.classroom.class_folder import open_class
    from lengthwise.classroom.errors import ClassroomError
    from lengthwise.classroom.typed import command

    taught = open_class(folder)
    if assignment and named and assignment != named:
        fail(f"Two assignments were named, {assignment} and {named}; name one.")
    asked = assignment or named
    try:
        return taught, taught.assignment_or_only(asked)
    except ClassroomError as error:
        one = taught.nearest_assignment(asked or "") or taught.assignments[0]
        fail(f"{error} Type, for example: {command(words, taught, one)}")
