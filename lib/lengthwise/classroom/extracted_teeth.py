"""The report on a session with extracted teeth: how far off, how repeatable, how well agreed.

By method, student and tooth. What needs true lengths is left out where none are known.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np
import numpy.typing as npt

from lengthwise.classroom.agreement import (
    dahlberg_error,
    intraclass_correlation,
    limits_of_agreement,
)
from lengthwise.classroom.measured import Measurement
from lengthwise.classroom.report_page import (
    Picture,
    ReportPage,
    Section,
    figure_text,
    range_text,
)
from lengthwise.classroom.report_pictures import errors_picture
from lengthwise.classroom.report_tables import (
    ABOUT_ERRORS,
    ABOUT_SURENESS,
    LIMITS_HEAD,
    REACH_HEAD,
    Group,
    errors_sheet,
    sureness_sentence,
    sureness_sheet,
)
from lengthwise.counted import counted
from lengthwise.marking.sheet import Sheet

Floats = npt.NDArray[np.float64]
Measurements = Sequence[Measurement]

FAR_MM = 3.0
"""A measurement so far off is more often a slip of the pen than of the hand."""

MOST_FAR_SHOWN = 20
DAHLBERG_HEAD = "Dahlberg error of repeats (mm)"


def teeth_report(title: str, measured: Measurements) -> ReportPage:
    """The report on what was measured."""
    students = {one.student for one in measured}
    canals = {(one.tooth, one.canal) for one in measured}
    known = [one for one in measured if one.true_mm is not None]
    opening = (
        f"{counted(len(measured), 'measurement')} of {counted(len(canals), 'canal')} by "
        f"{counted(len(students), 'student')}; the true "
        f"length is known for {len(known)} of them. Students stand here by their codes: for "
        "the instructor only.",
    )
    sections = [
        *_by_method(measured, known),
        _by("student", "How far off each student is", measured, lambda one: one.student),
        _by("tooth", "How far off each canal is measured", measured, _canal),
        _sure(measured),
        _methods(measured),
        _agreed(measured),
        *_far(known),
    ]
    return ReportPage(title, opening, tuple(one for one in sections if one is not None))


def _canal(one: Measurement) -> str:
    return one.tooth if one.canal == "single" else f"{one.tooth} {one.canal}"


def _groups(measured: Measurements, of: Callable[[Measurement], str]) -> list[Group]:
    parts: dict[str, list[Measurement]] = {}
    for one in measured:
        parts.setdefault(of(one), []).append(one)
    return [_group(name, parts[name]) for name in sorted(parts, key=_in_order)]


def _in_order(name: str) -> tuple[tuple[int, str], ...]:
    """Numbers in a code count as numbers: T2 stands before T10."""
    return tuple(
        (int(part), "") if part.isdecimal() else (-1, part.casefold())
        for part in re.split(r"(\d+)", name)
    )


def _group(name: str, measured: Measurements) -> Group:
    known = [one for one in measured if one.true_mm is not None]
    ends = [
        (one.low_mm - one.true_mm, one.high_mm - one.true_mm)
        for one in known
        if one.true_mm is not None and one.low_mm is not None and one.high_mm is not None
    ]
    return Group(
        name,
        np.array([one.measured_mm - (one.true_mm or 0.0) for one in known], dtype=float),
        _repeat_error(measured),
        np.array(ends, dtype=float).reshape(-1, 2),
    )


def _repeat_error(measured: Measurements) -> float:
    which: dict[tuple[str, ...], int] = {}
    codes = [
        which.setdefault((one.student, one.tooth, one.canal, one.method), len(which))
        for one in measured
    ]
    return dahlberg_error([one.measured_mm for one in measured], codes)


def _by_method(measured: Measurements, known: Measurements) -> list[Section]:
    groups = _groups(measured, lambda one: one.method)
    sheet = errors_sheet("By method", "method", DAHLBERG_HEAD, groups)
    words: tuple[str, ...] = (
        ABOUT_ERRORS,
        "Dahlberg's error comes from repeats of the same student on the same canal by the same "
        "method (Dahlberg 1940): the error of a single measurement, whatever is true.",
    )
    shown: list[Sheet | Picture] = [sheet]
    if known:
        shown.insert(0, _picture(groups))
    else:
        words = ("No true length is given, so errors cannot be worked out; repeats can.", *words)
    return [Section("How far off each method is", words, tuple(shown))]


def _picture(groups: Sequence[Group]) -> Picture:
    errors = {group.name: group.errors_mm for group in groups if group.errors_mm.size}
    told = []
    for name, values in errors.items():
        limits = limits_of_agreement(values)
        told.append(
            f"{name}: mean {figure_text(limits.mean, sign=True)} mm, limits "
            f"{range_text(limits.low, limits.high)} mm"
        )
    sentence = (
        "Every error by method; the solid line is the mean, the dashed ones are the limits of "
        f"agreement. {'; '.join(told)}."
    )
    return errors_picture(errors, sentence)


def _by(head: str, title: str, measured: Measurements, of: Callable[[Measurement], str]) -> Section:
    methods = sorted({one.method for one in measured})
    groups = _groups(measured, of)
    sheets = [errors_sheet(f"By {head}, all methods together", head, DAHLBERG_HEAD, groups)]
    if len(methods) > 1:
        for method in methods:
            mine = _groups([one for one in measured if one.method == method], of)
            sheets.append(errors_sheet(f"By {head}: {method}", head, DAHLBERG_HEAD, mine))
    return Section(title, (), tuple(sheets))


def _sure(measured: Measurements) -> Section | None:
    groups = [group for group in _groups(measured, lambda one: one.student) if len(group.ends_mm)]
    if not groups:
        return None
    every = np.concatenate([group.ends_mm for group in groups])
    words = (sureness_sentence("the class", every), ABOUT_SURENESS)
    return Section("How sure", words, (sureness_sheet("By student", "student", groups),))


def _methods(measured: Measurements) -> Section | None:
    """Every two methods against each other, by canals that a student measured with both."""
    lengths: dict[str, dict[tuple[str, str], list[float]]] = {}
    for one in measured:
        mine = lengths.setdefault(one.method, {})
        mine.setdefault((one.student, _canal(one)), []).append(one.measured_mm)
    rows = []
    for first, second in combinations(sorted(lengths), 2):
        both = [which for which in lengths[first] if which in lengths[second]]
        apart = [np.mean(lengths[first][each]) - np.mean(lengths[second][each]) for each in both]
        found = limits_of_agreement(apart)
        if found.n > 1:
            bias = figure_text(found.mean, sign=True)
            limits = range_text(found.low, found.high)
            name = f"{first} − {second}"
            rows.append((name, str(found.n), bias, limits, figure_text(found.reach)))
    if not rows:
        return None
    words = (
        "Differences of the means of repeats, on canals that one student measured by both. Two "
        "methods that agree may be wrong together: read it beside the errors above.",
    )
    heads = ("methods", "pairs", "mean difference (mm)", LIMITS_HEAD, REACH_HEAD)
    sheet = Sheet("Two methods at a time", heads, tuple(rows))
    return Section("How well methods agree", words, (sheet,))


def _agreed(measured: Measurements) -> Section | None:
    rows = []
    for method in sorted({one.method for one in measured}):
        table = _canals_by_students([one for one in measured if one.method == method])
        found = intraclass_correlation(table).get("ICC(A,1)")
        if found is None:
            continue
        canals, students = table.shape
        text = figure_text(found.value)
        rows.append((method, str(canals), str(students), text, range_text(found.low, found.high)))
    if not rows:
        return None
    words = (
        "Canals that several students measured by the same method: how much of the spread lies "
        "between canals, and not between students. 1 is perfect agreement. Each student counts "
        "with the mean of their repeats. Intraclass correlation for absolute agreement of single "
        "students, ICC(A,1) of McGraw & Wong 1996, with its 95 % interval. Canals of different "
        "lengths make it high by themselves: read it beside the errors above.",
    )
    heads = ("method", "canals", "students", "ICC(A,1)", "95 % interval")
    sheet = Sheet("Agreement among students", heads, tuple(rows))
    return Section("How well students agree", words, (sheet,))


def _canals_by_students(measured: Measurements) -> Floats:
    """Means of repeats, canals by students, of the students who measured every shared canal."""
    sums: dict[tuple[str, str], list[float]] = {}
    for one in measured:
        sums.setdefault((_canal(one), one.student), []).append(one.measured_mm)
    students_of: dict[str, set[str]] = {}
    for canal, student in sums:
        students_of.setdefault(canal, set()).add(student)
    most = max(len(found) for found in students_of.values())
    # Most students measured the same canals; whoever missed some of these is left out.
    shared = [canal for canal, found in students_of.items() if len(found) >= max(2, 0.8 * most)]
    everyone = set.intersection(*(students_of[canal] for canal in shared)) if shared else set()
    table = [[np.mean(sums[canal, who]) for who in sorted(everyone)] for canal in sorted(shared)]
    return np.array(table, dtype=float).reshape(len(shared), len(everyone))


def _far(known: Measurements) -> list[Section]:
    far = [
        (abs(one.measured_mm - one.true_mm), one)
        for one in known
        if one.true_mm is not None and abs(one.measured_mm - one.true_mm) > FAR_MM
    ]
    if not far:
        return []
    far.sort(key=lambda pair: -pair[0])
    rows = tuple(
        (str(one.row), one.student, _canal(one), one.method, figure_text(one.measured_mm),
         figure_text(one.true_mm))
        for _, one in far[:MOST_FAR_SHOWN]
    )  # fmt: skip
    more = f" The {MOST_FAR_SHOWN} farthest are shown." if len(far) > MOST_FAR_SHOWN else ""
    words = (
        f"More than {FAR_MM:g} mm off: {counted(len(far), 'measurement')}. Look whether it was "
        f"typed as it was measured; all are counted above.{more}",
    )
    heads = ("row", "student", "canal", "method", "measured (mm)", "true (mm)")
    return [Section("Look again at these rows", words, (Sheet("Far off", heads, rows),))]
