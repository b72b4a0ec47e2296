"""The commands between what was handed in and the marks: collect, grade, feedback, marks."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lengthwise.classroom.command_words import (
    HERE,
    AssignmentArgument,
    AssignmentOption,
    ClassOption,
    fail,
    opened,
    out,
    say_next,
    say_next_ones,
)
from lengthwise.counted import counted

commands = typer.Typer()
SchedulerOption = Annotated[
    str,
    typer.Option(
        metavar="ADDRESS",
        help="Spread the work over the hosts of this Dask scheduler (tcp://HOST:8786); left out: "
        "the cores of this computer.",
    ),
]


@commands.command()
def collect(
    folder: Annotated[Path, typer.Argument(help="Folder (or zip) of the handed-in files.")],
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
) -> None:
    """Take one notebook a student into the class."""
    from lengthwise.classroom.inbound import collect_place as collect_files
    from lengthwise.classroom.roster import class_list
    from lengthwise.classroom.typed import command, shown

    taught, name = opened(class_, assignment, named, f"collect {shown(folder)}")
    done = collect_files(folder, taught, name, class_list(taught))
    for one in done.taken:
        remark = f" ({one.remark})" if one.remark else ""
        out.print(f"  {one.student:<16} {one.how}: {one.where}{remark}")
    for left in done.left:
        out.print(f"  not taken        {left.where}: {left.reason}")
    for other in done.elsewhere:
        are = "file is" if other.files == 1 else "files are"
        out.print(
            f"{other.files} {are} {other.assignment}; collect them with: "
            + command("collect FOLDER", taught, other.assignment),
        )
    if done.untaken:
        out.print(f"Handed in, but not taken: {', '.join(done.untaken)}")
    if absent := [one for one in done.missing if one not in done.untaken]:
        out.print(f"Nothing from: {', '.join(absent)}")
    out.print(f"{counted(len(done.taken), 'file')} collected, {len(done.left)} not taken.")
    if not done.taken:
        fail(
            f"Nothing was collected. Mend what is said above of each file; where nothing is, name "
            f"the folder (or zip) that holds the files of {name}. Then run this again."
        )
    say_next(command("grade", taught, name))


@commands.command()
def grade(
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
    scheduler: SchedulerOption = "",
) -> None:
    """Read and mark every collected file. Nothing of a student's is run."""
    from lengthwise.classroom.dask_workers import engine_for
    from lengthwise.classroom.progress import Progress
    from lengthwise.classroom.typed import command, form_view
    from lengthwise.classroom.workers import run_for_each

    taught, name = opened(class_, assignment, named, "grade")
    engine = engine_for(taught, scheduler)
    students = taught.submitted_students(name)
    if not students:
        first = command("collect FOLDER", taught, name)
        fail(f"Nothing is collected for {name} yet; first run: {first}")
    with Progress("Grading", len(students)) as step:
        outcomes = run_for_each("autograde", taught, name, students, lambda _: step(), engine)
    for one in outcomes:
        out.print(f"  {one.student:<16} {one.line}")
    failed = sum(bool(one.failed) for one in outcomes)
    out.print(f"{len(outcomes) - failed} graded, {failed} failed.")
    waiting = sum(bool(one.by_hand) for one in outcomes)
    if waiting:
        out.print(
            f"To mark by hand (written reasons, unread answers): {counted(waiting, 'student')}; "
            f"open them with: {form_view(taught)}"
        )
    say_next_ones(
        (command("marks", taught, name), "a table"),
        (command("feedback", taught, name), "a page for every student"),
        (command("report", taught, name), "a page for you, on the class"),
    )
    if failed:
        raise typer.Exit(1)


@commands.command()
def feedback(
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
    scheduler: SchedulerOption = "",
) -> None:
    """Write a page for every graded student, and one zip of all pages."""
    from lengthwise.classroom.dask_workers import engine_for
    from lengthwise.classroom.feedback import page_path, zip_pages
    from lengthwise.classroom.marks_table import marks_table
    from lengthwise.classroom.progress import Progress
    from lengthwise.classroom.typed import command, form_view, shown
    from lengthwise.classroom.workers import run_for_each

    taught, name = opened(class_, assignment, named, "feedback")
    engine = engine_for(taught, scheduler)
    rows = [row for row in marks_table(taught, name).rows if row.total is not None]
    if not rows:
        first = command("grade", taught, name)
        fail(f"Nothing is graded for {name} yet; first run: {first}")
    with Progress("Writing pages", len(rows)) as step:
        outcomes = run_for_each(
            *("generate_feedback", taught, name, [row.student for row in rows]),
            *(lambda _: step(), engine),
        )
    for one in outcomes:
        if one.failed:
            out.print(f"  {one.student:<16} no page: {one.failed}")
    written = [one.student for one in outcomes if not one.failed]
    if not written:
        fail(
            "No page was written, so the zip of pages stays as it was. Mend what is said above, "
            f"then run again: {command('feedback', taught, name)}"
        )
    target = zip_pages(taught, name, written)
    out.print(f"Written to {shown(target)}: {counted(len(written), 'page')}.")
    out.print(f"One of them to look at: {shown(page_path(taught, written[0], name))}")
    waiting = sum(bool(row.by_hand) for row in rows)
    if waiting:
        out.print(
            f"Still to mark by hand: {counted(waiting, 'student')}; what is not marked counts as 0 "
            f"on the page. Mark it ({form_view(taught)}), then run this again."
        )
    say_next(
        f"give every student their page. For a page on the class: {command('report', taught, name)}"
    )
    if len(written) < len(outcomes):
        raise typer.Exit(1)


@commands.command()
def marks(
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
) -> None:
    """Show the marks of the class and write them as CSV."""
    from lengthwise.classroom.marks_shown import marks_shown
    from lengthwise.classroom.marks_table import marks_table, write_marks
    from lengthwise.classroom.typed import command, shown

    taught, name = opened(class_, assignment, named, "marks")
    table = marks_table(taught, name)
    out.print(marks_shown(table, out))
    out.print(f"The total is out of {table.max_total:g}.")
    out.print(f"Written to {shown(write_marks(taught, table))}")
    if any(row.by_hand for row in table.rows):
        out.print("A dash is not marked yet: it counts as 0 in the total.")
    say_next(f"{command('feedback', taught, name)}   (a page for every student)")
