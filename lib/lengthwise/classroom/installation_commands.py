"""Commands for whoever looks after the installation: where marks are kept, what is amiss."""

from __future__ import annotations

from typing import Annotated

import typer

from lengthwise.classroom.command_words import HERE, ClassOption, out, say_next

commands = typer.Typer()


@commands.command("move-gradebook")
def move_gradebook(
    address: Annotated[
        str, typer.Argument(help="An empty database: postgresql://USER@HOST/DATABASE.")
    ],
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
        markup=False,
    )
    say_next(command("marks", moved, moved.assignments[0]))
