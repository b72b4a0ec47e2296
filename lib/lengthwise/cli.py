"""The command line: make a class, collect, grade, give feedback, read the marks.

Every command says what it did and what comes next, can be run twice, and answers a mistake with
one plain sentence.
"""

from __future__ import annotations

import sys
import tempfile
import traceback
import warnings
from pathlib import Path
from typing import Annotated, TextIO

import typer

from lengthwise.classroom import grading_commands, installation_commands, report_commands
from lengthwise.classroom.command_words import (
    HERE,
    ClassOption,
    CourseOption,
    err,
    fail,
    made_folder,
    out,
    say_next,
    say_next_ones,
)
from lengthwise.classroom.errors import ClassroomError, ClassroomWarning
from lengthwise.classroom.report_commands import millimetres
from lengthwise.counted import counted

_show_warning = warnings.showwarning

app = typer.Typer(
    help="Lengthwise: how long is this root canal? Classes, grading and single cases.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.add_typer(grading_commands.commands)  # collect, grade, feedback, marks
app.add_typer(report_commands.commands)  # report, teeth, reconcile and their kin
app.add_typer(installation_commands.commands)  # move-gradebook, doctor


@app.command("new-class")
def new_class(
    name: Annotated[str, typer.Argument(help="The class's name; its folder is called the same.")],
    roster: Annotated[Path, typer.Option(help="The class list: a CSV file, column 'student'.")],
    target: Annotated[
        str, typer.Option(help="Target distance of your school: mm short of the foramen.")
    ] = "0.5",
    where: Annotated[Path, typer.Option("--in", help="Folder to make the class in.")] = HERE,
    course: CourseOption = None,
    assignment: Annotated[
        list[str] | None, typer.Option(help="An assignment, once for each; left out: all.")
    ] = None,
    own_cases: Annotated[
        Path | None,
        typer.Option(help="Folder of three cases of your own: every student gets these in a6."),
    ] = None,
    gradebook: Annotated[
        str,
        typer.Option(
            help="Keep the marks in this empty database: postgresql://USER@HOST/DATABASE; left "
            "out: in a file in the class's folder."
        ),
    ] = "",
) -> None:
    """Make a class with cases of its own for every student, and the release to hand out."""
    from lengthwise.classroom.new_class import ASSIGNMENTS, course_folder, make_class
    from lengthwise.classroom.own_cases import read_own_cases, set_words
    from lengthwise.classroom.progress import Progress
    from lengthwise.classroom.roster import read_roster
    from lengthwise.classroom.typed import command, shown

    students = read_roster(roster)
    assignments = tuple(assignment or ASSIGNMENTS)
    own = None if own_cases is None else read_own_cases(own_cases)
    with Progress("Drawing cases", len(students) * len(assignments)) as step:
        taught = make_class(
            name,
            students,
            target_mm=millimetres("--target", target),
            where=where,
            course=course or course_folder(),
            assignments=assignments,
            on_drawn=step,
            own_cases=own,
            gradebook=gradebook,
        )
    out.print(
        f"Class {taught.name} is made in {shown(taught.root)}: "
        f"{counted(len(students), 'student')}, target {taught.target_mm:g} mm."
    )
    for line in set_words(own, taught.target_mm) if own else ():
        out.print(line)
    for each in taught.assignments:
        zipped = taught.release_folder(each).with_suffix(".zip")
        out.print(
            f"For students who have the course already, this is enough: {shown(zipped)}",
        )
    say_next_ones(
        (
            command("pack", taught, assignments[0]),
            "for all others: one zip, the course with its assignments",
        ),
        (command("collect FOLDER", taught, assignments[0]), "when they have handed in"),
    )
    out.print("Keep the folder answers and the file secret to yourself: they hold the solutions.")


@app.command("own-cases")
def own_cases_(
    folder: Annotated[Path, typer.Argument(help="Folder of three cases of your own.")],
    class_: ClassOption = HERE,
) -> None:
    """Give a class that is made already three cases of your own, before anybody hands in."""
    from lengthwise.classroom.class_folder import open_class
    from lengthwise.classroom.own_cases import SET_IN, read_own_cases, set_own_cases, set_words
    from lengthwise.classroom.typed import command

    taught, own = open_class(class_), read_own_cases(folder)
    set_own_cases(taught, own)
    for line in set_words(own, taught.target_mm):
        out.print(line)
    out.print(
        "Whoever has an earlier zip needs the new one: it brings the new cases, and what was "
        "typed for the old ones is kept beside."
    )
    say_next(f"{command('pack', taught, SET_IN)}   (one zip for the students)")


@app.command()
def pack(
    assignments: Annotated[
        list[str] | None, typer.Argument(help="Assignments to put in; left out: all of the class.")
    ] = None,
    class_: ClassOption = HERE,
    course: CourseOption = None,
) -> None:
    """Make one zip for the students: the course, and assignments to do."""
    from lengthwise.classroom import pack as packing
    from lengthwise.classroom.class_folder import open_class
    from lengthwise.classroom.new_class import course_folder
    from lengthwise.classroom.typed import command, shown

    taught = open_class(class_)
    packed = packing.pack(
        taught, course or course_folder(), tuple(assignments or taught.assignments)
    )
    size_mb = packed.path.stat().st_size / 1e6
    out.print(
        f"{shown(packed.path)} holds the course and {', '.join(packed.assignments)}: "
        f"{counted(packed.files, 'file')}, {size_mb:.1f} MB; no solutions.",
    )
    first = command("collect FOLDER", taught, packed.assignments[0])
    say_next(
        f"give it to every student, to unpack and start. When they have handed in, run: {first}"
    )


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="A new folder for the invented class.")],
    course: CourseOption = None,
) -> None:
    """Make an invented class of twelve with its handed-in files, to try everything on."""
    from lengthwise.classroom.demo_class import make_demo
    from lengthwise.classroom.new_class import course_folder
    from lengthwise.classroom.typed import command, shown

    with out.status("Making the demo class"):
        made = make_demo(folder, course or course_folder())
    out.print(f"The class is {shown(made.taught.root)}; nothing and nobody in it is real.")
    out.print(f"Twelve students have handed in: {shown(made.handed_in)}")
    steps = (f"collect {shown(made.handed_in)}", "grade", "marks", "feedback", "report")
    (name,) = made.taught.assignments
    say_next_ones(*((command(step, made.taught, name), "") for step in steps))


@app.command()
def pages(
    folder: Annotated[Path, typer.Argument(help="Folder for the pages; made if needed.")] = Path(
        "lesson_pages"
    ),
    course: CourseOption = None,
) -> None:
    """Copy every lesson to a page that stands still, for screen readers and for print."""
    from lengthwise.classroom.new_class import course_folder
    from lengthwise.classroom.typed import shown
    from lengthwise.panels.lesson_pages import write_lesson_pages

    place = course or course_folder()
    if not any(place.glob("lessons/*.ipynb")):
        fail(f"No lesson lies in {shown(place)}; name the course's folder with --course.")
    made_folder(folder)  # before all that takes long
    with out.status("Copying the lessons"):
        written = list(write_lesson_pages(place, folder))
    out.print(f"{len(written) - 1} lessons are copied to {shown(folder)}.")
    say_next(f"open {shown(written[-1])} in a browser; the folder can be given away as it is.")


def _say_warning(
    message: Warning | str,
    category: type[Warning],
    filename: str,
    lineno: int,
    file: TextIO | None = None,
    line: str | None = None,
) -> None:
    """Our own warnings are sentences for the reader; all others stay as they are."""
    if issubclass(category, ClassroomWarning):
        err.print(f"Look at this: {message}")
    else:
        _show_warning(message, category, filename, lineno, file, line)


def main() -> None:
    """The entry point: planned errors become their one sentence, unplanned ones are kept too."""
    warnings.showwarning = _say_warning
    try:
        app()
    except OSError as error:
        err.print(
            f"{error.filename or 'A file'}: {error.strerror or error}. See that its place is "
            "there, that you may write to it and that its disk has room; then run this again."
        )
        sys.exit(1)
    except Exception as error:
        if _is_planned(error):
            err.print(str(error))
            sys.exit(1)
        told = (str(error).strip().splitlines() or [""])[0]
        what = f"{type(error).__name__}: {told}" if told else type(error).__name__
        err.print(
            f"Something unexpected went wrong ({what}); the details are in {_kept()}. Keep that "
            "and the class's folder, and ask whoever looks after this software.",
        )
        sys.exit(2)


def _is_planned(error: Exception) -> bool:
    """Whether its words were written for whoever typed the command."""
    if isinstance(error, ClassroomError):
        return True
    from lengthwise.evidence.errors import EvidenceError

    return isinstance(error, EvidenceError)


def _kept() -> str:
    """Keep the details of what just happened, and say where."""
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="lengthwise-", suffix=".log", delete=False, encoding="utf-8"
        ) as log:
            traceback.print_exc(file=log)
    except OSError:  # such as a full disk
        traceback.print_exc()
        return "the lines above"
    return log.name
