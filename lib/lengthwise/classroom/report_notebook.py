"""The reports as the instructor's notebooks show them: a page, or in words why there is none."""

from __future__ import annotations

from pathlib import Path

from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.report_page import ReportPage

EXAMPLE = "extracted_teeth_example.csv"


def class_report_of(
    folder: str | Path = ".", assignment: str | None = None, second_marks: str | Path | None = None
) -> ReportPage:
    """The report on the class in a folder; what is missing is said in the page, not raised.

    >>> class_report_of("no/such/class")
    No report yet
    There is no class in no/such/class (no class.toml); go into the class's folder, ...
    """
    from lengthwise.classroom.class_folder import open_class
    from lengthwise.classroom.marks_table import marks_table
    from lengthwise.classroom.report import class_report
    from lengthwise.classroom.second_marks import read_second_marks

    try:
        taught = open_class(Path(folder))
        name = taught.assignment_or_only(assignment)
        second = None
        if second_marks is not None:
            second = read_second_marks(Path(second_marks), marks_table(taught, name))
        return class_report(taught, name, second)
    except ClassroomError as error:
        return _none(error)


def teeth_report_of(file: str | Path | None = None) -> ReportPage:
    """The report on a file of measurements; without one, on the invented session.

    >>> teeth_report_of("no_such_file.csv").title
    'No report yet'
    """
    from lengthwise.classroom.extracted_teeth import teeth_report
    from lengthwise.classroom.measured import read_measurements
    from lengthwise.reference.files import dataset_folder

    path = dataset_folder() / EXAMPLE if file is None else Path(file)
    title = "Extracted teeth: an invented session" if file is None else f"Extracted teeth: {file}"
    try:
        return teeth_report(title, read_measurements(path))
    except ClassroomError as error:
        return _none(error)


def _none(error: ClassroomError) -> ReportPage:
    return ReportPage("No report yet", tuple(str(error).splitlines()), ())
