"""The sections of the class report on lengths: how far off they are, and how sure they were.

Both set students beside what the same evidence supports, against the true lengths.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lengthwise.classroom.agreement import limits_of_agreement, rms
from lengthwise.classroom.report_answers import Work
from lengthwise.classroom.report_page import (
    Picture,
    Section,
    figure_text,
    percent_text,
    range_text,
)
from lengthwise.classroom.report_pictures import MOST_ROWS, agreement_picture, intervals_picture
from lengthwise.classroom.report_tables import (
    ABOUT_ERRORS,
    ABOUT_SURENESS,
    Group,
    dahlberg_sentence,
    errors_sheet,
    sureness_sentence,
    sureness_sheet,
)

RMS_HEAD = "RMS error (mm)"
WEIGHED = "the same evidence, weighed"
"""What stands beside the students: what a careful reader of their evidence could have known."""


def _group(name: str, errors: Sequence[float], ends: Sequence[tuple[float, float]]) -> Group:
    values = np.array(errors, dtype=float)
    return Group(name, values, rms(values), np.array(ends, dtype=float).reshape(-1, 2))


def _weighed(works: Sequence[Work]) -> Group | None:
    """What the same evidence supports, where a student gave a length or an interval."""
    errors, ends = [], []
    for one in (each for work in works for each in work.determined):
        if one.weighed is None:
            continue
        if one.error_mm is not None:
            errors.append(one.weighed.foramen_mm - one.true_mm)
        if one.ends_mm is not None:
            low, high = one.weighed.interval_mm()
            ends.append((low - one.true_mm, high - one.true_mm))
    return _group(WEIGHED, errors, ends) if errors or ends else None


def _class_groups(works: Sequence[Work]) -> list[Group]:
    """Every student, the class, and what the evidence supports."""
    groups = [_group(work.student, work.errors_mm, work.ends_mm) for work in works]
    errors = [error for work in works for error in work.errors_mm]
    ends = [pair for work in works for pair in work.ends_mm]
    weighed = _weighed(works)
    return [*groups, _group("all together", errors, ends), *([weighed] if weighed else [])]


def error_sections(works: Sequence[Work]) -> list[Section]:
    """How far the lengths that students gave lie from the true ones; none where nobody gave one.

    >>> error_sections([])
    []
    """
    groups = [group for group in _class_groups(works) if group.errors_mm.size]
    if not groups:
        return []
    words = [
        ABOUT_ERRORS,
        "Lengths are the foramens that students gave (from the working length where that is all), "
        "and other lengths with a known answer; an answer that waits for your marks is left "
        "out. Marks never use the true length: a careful student is off too, by "
        f"as much as the row “{WEIGHED}” shows.",
        dahlberg_sentence([error for work in works for error in work.errors_mm]),
    ]
    without = [work.student for work in works if not work.errors_mm]
    if without:
        words.append(f"No length from: {', '.join(without)}.")
    past = {work.student: [one.past for one in work.determined if one.past is not None]
            for work in works}  # fmt: skip
    n, many = sum(map(len, past.values())), sum(sum(each) for each in past.values())
    if n:
        whose = ", ".join(f"{name} ({sum(each)})" for name, each in past.items() if any(each))
        words.append(
            f"{many} of {n} working lengths are past the true foramen ({percent_text(many / n)})"
            + (f": {whose}." if whose else ".")
        )
    sheet = errors_sheet("By student", "student", RMS_HEAD, groups)
    picture = _agreement(works)
    pictures = (picture,) if picture else ()
    return [Section("Error and bias", tuple(words), (*pictures, sheet))]


def _agreement(works: Sequence[Work]) -> Picture | None:
    known = [
        (one.error_mm + one.true_mm, one.true_mm)
        for work in works
        for one in work.determined
        if one.error_mm is not None
    ]
    if not known:
        return None
    given, true = np.array(known).T
    limits = limits_of_agreement(given - true)
    sentence = (
        f"{limits.n} foramens that students gave against the true ones: mean error "
        f"{figure_text(limits.mean, sign=True)} mm"
    )
    if limits.n > 1:
        sentence += f", limits of agreement {range_text(limits.low, limits.high)} mm"
    return agreement_picture(given, true, limits, f"{sentence}.")


def sureness_sections(works: Sequence[Work]) -> list[Section]:
    """How many intervals hold the true length; none where nobody gave one.

    >>> sureness_sections([])
    []
    """
    groups = [group for group in _class_groups(works) if len(group.ends_mm)]
    if not groups:
        return []
    every = np.array([pair for work in works for pair in work.ends_mm], dtype=float)
    said = sureness_sentence("the class", every)
    rows = {work.student: work.ends_mm for work in works}
    shown = min(MOST_ROWS, sum(bool(ends) for ends in rows.values()))
    sentence = (
        f"Every interval of {shown} students about the true length (the line at 0). Crosses and "
        f"the second colour mark intervals that miss it. {said}"
    )
    picture = intervals_picture(rows, sentence)
    sheet = sureness_sheet("By student", "student", groups)
    pictures = (picture,) if picture else ()
    return [Section("Over-confidence", (said, ABOUT_SURENESS), (*pictures, sheet))]
