"""The commands that look at results: of a class, of a session with teeth, of files of evidence."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lengthwise.classroom.command_words import (
    HERE,
    AssignmentArgument,
    AssignmentOption,
    ClassOption,
    opened,
    out,
    say_next,
)

commands = typer.Typer()

PRINT = "open it in a browser; its print command makes a PDF. It loads nothing from the internet."


@commands.command()
def report(
    assignment: AssignmentArgument = None,
    class_: ClassOption = HERE,
    named: AssignmentOption = None,
    second_marks: Annotated[
        Path | None,
        typer.Option(help="A second grader's marks of the reasons: CSV with student and points."),
    ] = None,
) -> None:
    """Write the report on a class: errors, over-confidence, questions, who to talk to."""
    from lengthwise.classroom.marks_table import marks_table
    from lengthwise.classroom.progress import Progress
    from lengthwise.classroom.report import class_report
    from lengthwise.classroom.second_marks import read_second_marks

    taught, name = opened(class_, assignment, named, "report")
    table = marks_table(taught, name)
    second = None if second_marks is None else read_second_marks(second_marks, table)
    with Progress("Reading answers", len(table.rows)) as step:
        page = class_report(taught, name, second, step)
    _say(page.opening[1], _written(taught.root / f"report_{name}.html", page.to_html()))
    out.print("Keep it to yourself: it holds ids and true lengths.")
    say_next(PRINT)


@commands.command()
def teeth(
    file: Annotated[Path, typer.Argument(help="Measurements as CSV, one row a measurement.")],
) -> None:
    """Write the report on a session with extracted teeth, beside its file."""
    from lengthwise.classroom.extracted_teeth import teeth_report
    from lengthwise.classroom.measured import read_measurements

    page = teeth_report(f"Extracted teeth: {file.stem}", read_measurements(file))
    _say(page.opening[0], _written(file.with_name(f"{file.stem}_report.html"), page.to_html()))
    say_next(PRINT)


@commands.command("teeth-template")
def teeth_template(
    file: Annotated[Path, typer.Argument(help="A new CSV file to fill in.")],
) -> None:
    """Write an empty file for the measurements of a session with extracted teeth."""
    from lengthwise.classroom.errors import ClassroomError
    from lengthwise.classroom.measured import template
    from lengthwise.classroom.typed import shown, typed_before

    if file.exists():
        raise ClassroomError(f"{file} is already there and stays as it is; name a new file.")
    if not file.parent.is_dir():
        raise ClassroomError(f"{shown(file.parent)} is not a folder; make it, or name another.")
    file.write_text(template(), encoding="utf-8-sig")
    _say("One row a measurement; repeat, interval, true length and remark may stay empty.", file)
    say_next(f"fill it in, then: {typed_before()} teeth {shown(file)}")


@commands.command()
def reconcile(
    file: Annotated[Path, typer.Argument(help="Evidence as JSON, or as CSV with several cases.")],
    target: Annotated[str, typer.Option(help="mm short of the foramen.")] = "0.5",
) -> None:
    """Say what the evidence in a file supports: a sentence, its sources, a line for the chart."""
    from rich.table import Table

    from lengthwise.classroom.report_page import figure_text
    from lengthwise.evidence import Evidence
    from lengthwise.reconciliation import reconcile_many

    is_table = file.suffix.lower() == ".csv"
    cases = Evidence.read_many(file) if is_table else {"": Evidence.read(file)}
    target_mm = _target_mm(target)
    for name, result in zip(
        cases, reconcile_many(list(cases.values()), target_mm=target_mm), strict=True
    ):
        if name:
            out.print(name, style="bold")
        out.print(result.sentence, markup=False)
        table = Table("source", "foramen (mm)", "± (mm)", "trust", "without it (mm)", box=None)
        for row in result.sources:
            table.add_row(
                row.name,
                f"{row.implied_mm:.1f}",
                f"{row.sd_mm:.2f}",
                f"{row.trust:.2f}",
                figure_text(row.shift_without_mm, sign=True),
            )
        out.print(table)
        out.print(result.chart_line, markup=False)
        out.print()
    out.print("A teaching simulation, not a medical device; decide under local rules.")


@commands.command("reconcile-class")
def reconcile_class(
    file: Annotated[Path, typer.Argument(help="Evidence as CSV, a 'case' column names the case.")],
    target: Annotated[str, typer.Option(help="mm short of the foramen.")] = "0.5",
) -> None:
    """Reconcile every case of a file of evidence; write a table and a page beside it."""
    from lengthwise.classroom.report_cases import cases_csv, cases_page, reconcile_cases
    from lengthwise.evidence import Evidence

    target_mm = _target_mm(target)
    with out.status("Weighing the evidence"):
        results = reconcile_cases(Evidence.read_many(file), target_mm)
        page = cases_page(f"Evidence reconciled: {file.stem}", results, target_mm)
        table = _written(file.with_name(f"{file.stem}_reconciled.csv"), cases_csv(results))
        shown = _written(file.with_name(f"{file.stem}_reconciled.html"), page.to_html())
    _say(" ".join(page.opening), table)
    _say("The same with the sources of each case.", shown)
    say_next(PRINT)


def _target_mm(typed: str) -> float:
    """A target distance; raises `ClassroomError` where no school could mean it."""
    from lengthwise.classroom.errors import ClassroomError
    from lengthwise.reconciliation import Loss

    target_mm = millimetres("--target", typed)
    try:
        return Loss(target_mm).target_mm
    except ValueError as error:
        raise ClassroomError(str(error).replace("field target_mm", "--target", 1)) from None


def millimetres(option: str, typed: str) -> float:
    """A length typed after an option; raises `ClassroomError` for anything else."""
    from lengthwise.classroom.answer_form import tidy_typed_number
    from lengthwise.classroom.errors import ClassroomError

    tidied = tidy_typed_number(option, typed)
    if not isinstance(tidied.value, float):
        raise ClassroomError(f"{tidied.problem}.")
    return tidied.value


def _written(path: Path, text: str) -> Path:
    from lengthwise.whole_file import write_whole

    write_whole(path, text)
    return path


def _say(sentence: str, path: Path) -> None:
    from lengthwise.classroom.typed import shown

    out.print(sentence, markup=False)
    out.print(f"Written to {shown(path)}", markup=False)
