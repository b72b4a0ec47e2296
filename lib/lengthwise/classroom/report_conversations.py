"""Who needs a conversation: a rule that can be said aloud, and what it found."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.grading_record import read_record
from lengthwise.classroom.marks_table import NOTHING_COLLECTED, MarksRow, MarksTable
from lengthwise.classroom.report_answers import Work
from lengthwise.classroom.report_page import UNKNOWN, figure_text
from lengthwise.classroom.report_tables import holding
from lengthwise.counted import counted
from lengthwise.marking.interval_score import INTERVAL_PROBABILITY
from lengthwise.marking.sheet import Sheet
from lengthwise.marking.student_id import folded_id

FEWEST, FEWEST_IN_WORDS = 3, "three"
"""Lengths or intervals from which a habit can be told at all."""

BIAS_MM = 0.5
BY_CHANCE = 0.05
BELIEFS = 2
HALF = 0.5

RULE = (
    "Somebody is named here when at least one of these holds: nothing was handed in, or nothing "
    "in it was answered; a step was chosen that could hurt somebody; the id typed in the file "
    f"is not theirs; over {FEWEST_IN_WORDS} lengths or more the mean error is over {BIAS_MM:g} "
    f"mm; of {FEWEST_IN_WORDS} or more 90 % intervals so few hold the true length that somebody "
    "who is right nine times in ten would do as badly less than once in twenty; to "
    f"{FEWEST_IN_WORDS} cases or more they said nothing but “not yet”, where the evidence of "
    "some is enough for a length; their answers look like two misconceptions or more; or they "
    "have less than half of the points, whatever is still given by hand. It is a reason to ask, "
    "not a verdict: of twenty careful students up to one comes on the list by bad luck with "
    "intervals."
)


def conversations(
    taught: ClassFolder, table: MarksTable, works: Sequence[Work]
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Students with the reasons to talk to them, most reasons first.

    Of whom nothing is collected is not among them: `missing_sentence` counts them.
    """
    by_student = {work.student: work for work in works}
    named = []
    for row in table.rows:
        reasons = _reasons(by_student[row.student]) if row.student in by_student else []
        record = read_record(taught, row.student, table.assignment)
        typed = None if record is None else record.typed_id
        if typed is not None and folded_id(typed) != folded_id(row.student):
            reasons.append(f"typed another id: {typed[:40]}")
        if row.total is not None and _at_most(row, table) < HALF * table.max_total:
            reasons.append(f"{row.total:g} of {table.max_total:g} points")
        if reasons:
            named.append((row.student, tuple(reasons)))
    return tuple(sorted(named, key=lambda pair: -len(pair[1])))


def _at_most(row: MarksRow, table: MarksTable) -> float:
    """The total, if everything that waits for marks by hand earned in full."""
    waits = (table.maxima[part] - (row.points.get(part) or 0.0) for part in row.by_hand)
    return (row.total or 0.0) + sum(waits)


def waiting_sentence(table: MarksTable) -> str:
    """That hand marks may still bring somebody on the list; empty where all is marked."""
    n = sum(bool(row.by_hand) for row in table.rows)
    wait = "waits" if n == 1 else "wait"
    return (
        f"The list is complete only after the marks by hand: {counted(n, 'student')} still {wait} "
        "for some, and may yet stay under half of the points. Make the report again then."
        if n
        else ""
    )


def missing_sentence(table: MarksTable) -> str:
    """Of how many nothing is collected, in one sentence; empty where there is nobody such."""
    n = sum(row.remark == NOTHING_COLLECTED for row in table.rows)
    whom = counted(n, "student")
    return f"Nothing is collected of {whom}; named at the top of this page." if n else ""


def conversations_sheet(
    found: Sequence[tuple[str, tuple[str, ...]]], works: Sequence[Work]
) -> Sheet:
    """The same as a table, with what their answers look like to begin from."""
    alike = {work.student: "; ".join(f"{n.misconception}, {n.belief}" for n in work.named)
             for work in works}  # fmt: skip
    rows = tuple(
        (student, "; ".join(reasons), alike.get(student) or UNKNOWN) for student, reasons in found
    )
    return Sheet("To talk to", ("student", "why", "answers look like"), rows)


def _reasons(work: Work) -> list[str]:
    if not work.answered:
        return ["answered nothing"]
    reasons = []
    unsafe = [one.question for one in work.determined if one.unsafe]
    if unsafe:
        reasons.append(f"a step that could hurt somebody ({', '.join(unsafe)})")
    errors = work.errors_mm
    if len(errors) >= FEWEST and abs(np.mean(errors)) > BIAS_MM:
        mean = figure_text(float(np.mean(errors)), sign=True)
        reasons.append(f"mean error {mean} mm over {len(errors)} lengths")
    ends = np.array(work.ends_mm, dtype=float).reshape(-1, 2)
    held = holding(ends)
    if len(ends) >= FEWEST and chance_of_at_most(held, len(ends)) < BY_CHANCE:
        reasons.append(f"{held} of {len(ends)} intervals hold the true length")
    weighed = [one for one in work.determined if one.weighed is not None]
    enough = sum(one.weighed.working_length_mm is not None for one in weighed if one.weighed)
    if len(weighed) >= FEWEST and enough and all(one.given.is_not_yet for one in weighed):
        reasons.append(
            f"“not yet” to all {len(weighed)} cases; for {enough} the evidence supports a length"
        )
    if len(work.named) >= BELIEFS:
        reasons.append("answers look like " + " and ".join(one.misconception for one in work.named))
    return reasons


def chance_of_at_most(held: int, n: int, probability: float = INTERVAL_PROBABILITY) -> float:
    """How likely at most so many of n intervals hold, for somebody who keeps the promise.

    >>> round(chance_of_at_most(1, 3), 3), round(chance_of_at_most(6, 10), 3)
    (0.028, 0.013)
    """
    return sum(
        math.comb(n, k) * probability**k * (1 - probability) ** (n - k) for k in range(held + 1)
    )
