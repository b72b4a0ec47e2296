"""What each case of a file of evidence supports: one table for a spreadsheet, one page to read."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from lengthwise.classroom.report_page import UNKNOWN, ReportPage, Section, figure_text
from lengthwise.counted import counted
from lengthwise.evidence import Evidence
from lengthwise.marking.sheet import Sheet
from lengthwise.reconciliation import Reconciliation, reconcile_many
from lengthwise.reconciliation.result_view import alone, percent, signed_mm

COLUMNS = (
    "case", "tooth", "canal", "reference_point", "foramen_mm", "foramen_sd_mm", "low_mm", "high_mm",
    "working_length_mm", "probability_past", "next_step", "conflict", "sentence",
)  # fmt: skip
AT_ODDS = 2.0
"""A source this many standard uncertainties from the others is worth a look."""


def reconcile_cases(cases: Mapping[str, Evidence], target_mm: float) -> dict[str, Reconciliation]:
    """The reconciliation of every case by its name."""
    return dict(zip(cases, reconcile_many(list(cases.values()), target_mm=target_mm), strict=True))


def cases_csv(results: Mapping[str, Reconciliation]) -> str:
    """One row a case; a working length that should not be taken yet is empty."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for name, result in results.items():
        low, high = result.interval_mm()
        length = result.working_length_mm
        writer.writerow(
            [
                _as_text(name),
                result.evidence.tooth,
                result.evidence.canal,
                _as_text(result.evidence.reference_point),
                f"{result.foramen_mm:.2f}",
                f"{result.foramen_sd_mm:.2f}",
                f"{low:.2f}",
                f"{high:.2f}",
                "" if length is None else f"{length:.2f}",
                "" if length is None else f"{result.probability_past(length):.3f}",
                result.next_step.word,
                f"{result.conflict:.1f}",
                result.sentence,
            ]
        )
    return text.getvalue()


def _as_text(typed: str) -> str:
    """What somebody typed, so that no spreadsheet takes it for a formula.

    >>> _as_text("=1+1"), _as_text("case 3")
    ("'=1+1", 'case 3')
    """
    return f"'{typed}" if typed[:1] in "=+-@" else typed


def cases_page(title: str, results: Mapping[str, Reconciliation], target_mm: float) -> ReportPage:
    """All cases in one table, then each with its sources."""
    taken = sum(result.working_length_mm is not None for result in results.values())
    odds = [name for name, result in results.items() if result.conflict > AT_ODDS]
    opening = (
        f"{counted(len(results), 'case')}, target {target_mm:g} mm short of the foramen. For "
        f"{taken} the sources are enough for a length, for {len(results) - taken} not yet.",
        *([f"Sources are at odds in: {', '.join(odds)}."] if odds else []),
    )
    overview = Sheet(
        "All cases",
        ("case", "tooth", "foramen (mm)", "90 % interval (mm)", "working length (mm)", "past",
         "next step"),
        tuple(_overview(name, result) for name, result in results.items()),
    )  # fmt: skip
    each = (
        Section(
            f"Case {name}", (result.sentence, f"Chart: {result.chart_line}"), (_sources(result),)
        )
        for name, result in results.items()
    )
    return ReportPage(title, opening, (Section("Overview", (), (overview,)), *each))


def _overview(name: str, result: Reconciliation) -> tuple[str, ...]:
    low, high = result.interval_mm()
    length = result.working_length_mm
    return (
        name,
        result.evidence.tooth,
        figure_text(result.foramen_mm, 1),
        f"{low:.1f} to {high:.1f}",
        "not yet" if length is None else f"{length:.2f}",
        UNKNOWN if length is None else percent(result.probability_past(length)),
        result.next_step.word,
    )


def _sources(result: Reconciliation) -> Sheet:
    rows = tuple(
        (row.name, alone(row), percent(row.trust), signed_mm(row.shift_without_mm))
        for row in result.sources
    )
    heads = ("source", "foramen by it alone", "believed", "shift without it")
    return Sheet("What each source says of the foramen", heads, rows)
