"""The command line: make a class, collect, grade, give feedback, read the marks.

Every command says what it did and what comes next, can be run twice, and answers a mistake with
one plain sentence.
"""

from __future__ import annotations

import sys
import tempfile
import traceback
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer
from rich.console import Console

from lengthwise.classroom.report_commands import commands, millimetres

if TYPE_CHECKING:
    from lengthwise.classroom.class_folder import ClassFolder

app = typer.Typer(
    help="Lengthwise: how long is this root canal? Classes, grading and single cases.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.add_typer(commands)  # report, teeth, teeth-template, reconcile, reconcile-class
out = Console(highlight=False, soft_wrap=True)
err = Console(stderr=True, highlight=False, soft_wrap=True)

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
) -> None:
    """Make a class with cases of its own for every student, and the release to hand out."""
    from lengthwise.classroom.new_class import ASSIGNMENTS, course_folder, make_class
    from lengthwise.classroom.progress import Progress
    from lengthwise.classroom.roster import read_roster
    from lengthwise.classroom.typed import command, shown

    students = read_roster(roster)
    assignments = tuple(assignment or ASSIGNMENTS)
    with Progress("Drawing cases", len(students) * len(assignments)) as step:
        taught = make_class(
            name,
            students,
            target_mm=millimetres("--target", target),
            where=where,
            course=course or course_folder(),
            assignments=assignments,
            on_drawn=step,
        )
    out.print(
        f"Class {taught.name} is made in {shown(taught.root)}: {len(students)} students, target "
        f"{taught.target_mm:g} mm."
    )
    for each in taught.assignments:
        zipped = taught.release_folder(each).with_suffix(".zip")
        out.print(f"For the students: {shown(zipped)}", markup=False)
    _next(
        "give an assignment's zip to every student. When they have handed in, run: "
        + command("collect FOLDER", taught, assignments[0])
    )
    out.print("Keep the folders answers and secret to yourself: they hold the solutions.")


@app.command()
def collect(
    folder: Annotated[Path, typer.Argument(help="Folder (or zip) of the handed-in files.")],
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
) -> None:
    """Take one notebook a student into the class."""
    from lengthwise.classroom.collect import collect as collect_files
    from lengthwise.classroom.roster import class_list
    from lengthwise.classroom.typed import command

    taught, name = _opened(class_, assignment, named)
    done = collect_files(folder, taught, name, class_list(taught))
    for one in done.taken:
        remark = f" ({one.remark})" if one.remark else ""
        out.print(f"  {one.student:<16} {one.how}: {one.where}{remark}", markup=False)
    for left in done.left:
        out.print(f"  not taken        {left.where}: {left.reason}", markup=False)
    for other in done.elsewhere:
        are = "file is" if other.files == 1 else "files are"
        out.print(
            f"{other.files} {are} {other.assignment}; collect them with: "
            + command("collect FOLDER", taught, other.assignment),
            markup=False,
        )
    if done.missing:
        out.print(f"Nothing from: {', '.join(done.missing)}", markup=False)
    out.print(f"{len(done.taken)} files collected, {len(done.left)} not taken.")
    if not done.taken:
        _fail("Nothing was collected.")
    _next(command("grade", taught, name))


@app.command()
def grade(
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
) -> None:
    """Read and mark every collected file. Nothing of a student's is run."""
    from lengthwise.classroom.progress import Progress
    from lengthwise.classroom.typed import command, form_view
    from lengthwise.classroom.workers import run_for_each

    taught, name = _opened(class_, assignment, named)
    students = taught.submitted_students(name)
    if not students:
        first = command("collect FOLDER", taught, name)
        _fail(f"Nothing is collected for {name} yet; first run: {first}")
    with Progress("Grading", len(students)) as step:
        outcomes = run_for_each("autograde", taught, name, students, lambda _: step())
    for one in outcomes:
        out.print(f"  {one.student:<16} {one.line}", markup=False)
    failed = sum(bool(one.failed) for one in outcomes)
    out.print(f"{len(outcomes) - failed} graded, {failed} failed.")
    waiting = sum(bool(one.by_hand) for one in outcomes)
    if waiting:
        out.print(
            f"{waiting} students have something to mark by hand (written reasons, unread "
            f"answers); open them with: {form_view(taught)}"
        )
    _next_ones(
        (command("marks", taught, name), "a table"),
        (command("feedback", taught, name), "a page for every student"),
    )
    if failed:
        raise typer.Exit(1)


@app.command()
def feedback(
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
) -> None:
    """Write a page for every graded student, and one zip of all pages."""
    from lengthwise.classroom.feedback import page_path, zip_pages
    from lengthwise.classroom.marks_table import marks_table
    from lengthwise.classroom.progress import Progress
    from lengthwise.classroom.typed import command, form_view, shown
    from lengthwise.classroom.workers import run_for_each

    taught, name = _opened(class_, assignment, named)
    rows = [row for row in marks_table(taught, name).rows if row.total is not None]
    if not rows:
        first = command("grade", taught, name)
        _fail(f"Nothing is graded for {name} yet; first run: {first}")
    with Progress("Writing pages", len(rows)) as step:
        outcomes = run_for_each(
            "generate_feedback", taught, name, [row.student for row in rows], lambda _: step()
        )
    for one in outcomes:
        if one.failed:
            out.print(f"  {one.student:<16} no page: {one.failed}", markup=False)
    written = [one.student for one in outcomes if not one.failed]
    target = zip_pages(taught, name, written)
    out.print(f"{len(written)} pages are in {shown(target)}", markup=False)
    if written:
        one_page = shown(page_path(taught, written[0], name))
        out.print(f"One of them to look at: {one_page}", markup=False)
    waiting = sum(bool(row.by_hand) for row in rows)
    if waiting:
        out.print(
            f"{waiting} of them still wait for marks by hand; those count as 0 on the page. "
            f"Mark them ({form_view(taught)}), then run this again."
        )
    _next("give every student their page")
    if len(written) < len(outcomes):
        raise typer.Exit(1)


@app.command()
def marks(
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
) -> None:
    """Show the marks of the class and write them as CSV."""
    from lengthwise.classroom.marks_shown import marks_shown
    from lengthwise.classroom.marks_table import marks_table, write_marks
    from lengthwise.classroom.typed import shown

    taught, name = _opened(class_, assignment, named)
    table = marks_table(taught, name)
    out.print(marks_shown(table, out))
    out.print(f"The total is out of {table.max_total:g}.")
    out.print(f"Written to {shown(write_marks(taught, table))}", markup=False)
    if any(row.by_hand for row in table.rows):
        out.print("A dash is not marked yet: it counts as 0 in the total.")


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
    steps = (f"collect {shown(made.handed_in)}", "grade", "marks", "feedback")
    (name,) = made.taught.assignments
    _next_ones(*((command(step, made.taught, name), "") for step in steps))


def _opened(folder: Path, assignment: str | None, named: str | None) -> tuple[ClassFolder, str]:
    """The class, and the assignment that was named either way."""
    from lengthwise.classroom.class_folder import open_class

    taught = open_class(folder)
    if assignment and named and assignment != named:
        _fail(f"Two assignments were named, {assignment} and {named}; name one.")
    return taught, taught.assignment_or_only(assignment or named)


def _next_ones(*ones: tuple[str, str]) -> None:
    """Several commands, one after the other, with what each is for."""
    out.print("Next, one after the other:", markup=False)
    for one, what in ones:
        out.print(f"  {one}{f'   ({what})' if what else ''}", markup=False)


def _next(what: str) -> None:
    out.print(f"Next: {what}", markup=False)


def _fail(sentence: str) -> NoReturn:
    err.print(sentence, markup=False)
    raise typer.Exit(1)


def main() -> None:
    """The entry point: planned errors become their one sentence, unplanned ones too."""
    try:
        app()
    except ValueError as error:
        err.print(str(error), markup=False)
        sys.exit(1)
    except OSError as error:
        err.print(f"{error.filename or 'A file'}: {error.strerror or error}.", markup=False)
        sys.exit(1)
    except Exception as error:
        with tempfile.NamedTemporaryFile(
            "w", prefix="lengthwise-", suffix=".log", delete=False, encoding="utf-8"
        ) as log:
            traceback.print_exc(file=log)
        err.print(
            f"Something unexpected went wrong ({type(error).__name__}); the details are in "
            f"{log.name}.",
            markup=False,
        )
        sys.exit(2)
