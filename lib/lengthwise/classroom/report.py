"""The report on a class: one assignment, for the instructor.

Marks come from the gradebook, answers from the marked copies, true lengths from the answer key.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from lengthwise.classroom.answer_key import AnswerKey, read_key
from lengthwise.classroom.class_folder import ClassFolder
from lengthwise.classroom.errors import ClassroomError
from lengthwise.classroom.marks_table import NOTHING_COLLECTED, MarksTable, marks_table
from lengthwise.classroom.report_answers import Work, read_work
from lengthwise.classroom.report_beliefs import Count, beliefs_sheet, count_beliefs, take_up
from lengthwise.classroom.report_conversations import (
    RULE,
    conversations,
    conversations_sheet,
    missing_sentence,
    waiting_sentence,
)
from lengthwise.classroom.report_lengths import error_sections, sureness_sections
from lengthwise.classroom.report_page import (
    Picture,
    ReportPage,
    Section,
    figure_text,
    percent_text,
    range_text,
)
from lengthwise.classroom.report_parts import FEW_STUDENTS, options_sheet, parts_of, parts_sheet
from lengthwise.classroom.report_pictures import parts_picture
from lengthwise.classroom.second_marks import graders_section
from lengthwise.counted import counted
from lengthwise.marking.sheet import Sheet


def class_report(
    taught: ClassFolder,
    assignment: str,
    second_marks: Mapping[str, float] | None = None,
    on_read: Callable[[], None] = lambda: None,
) -> ReportPage:
    """The report on an assignment.

    Parameters
    ----------
    second_marks : a second grader's points of the written reason, by student.
    on_read : called once for every student of the class.

    Raises
    ------
    ClassroomError : nothing is graded yet.
    """
    table, key = marks_table(taught, assignment), read_key(taught, assignment)
    works = _works(taught, assignment, table, key, on_read)
    if not works:
        raise ClassroomError(
            f"Nothing is graded for {assignment} yet: run lengthwise grade first, then this again."
        )
    counts = count_beliefs(works)
    talk = conversations(taught, table, works)
    absent = missing_sentence(table)
    nobody = "" if talk or absent else "Nobody is on the list."
    waiting = waiting_sentence(table)
    sections = (
        Section("What the next session should take up", take_up(counts)),
        Section(
            "Who needs a conversation",
            tuple(one for one in (RULE, absent, nobody, waiting) if one),
            (conversations_sheet(talk, works),) if talk else (),
        ),
        *error_sections(works),
        *sureness_sections(works),
        *_questions(table, works, key),
        graders_section(table, second_marks),
        _beliefs(counts),
    )
    return ReportPage(
        f"Class report: {taught.name}, {assignment}",
        _opening(table, works),
        tuple(section for section in sections if section is not None),
    )


def _works(
    taught: ClassFolder,
    assignment: str,
    table: MarksTable,
    key: AnswerKey,
    on_read: Callable[[], None],
) -> list[Work]:
    works = []
    for row in table.rows:
        if row.total is not None:
            work = read_work(
                taught, assignment, row.student, key.of(row.student), waiting=row.by_hand
            )
            works += [work] if work is not None else []
        on_read()
    return works


def _opening(table: MarksTable, works: Sequence[Work]) -> tuple[str, ...]:
    absent = [row.student for row in table.rows if row.remark == NOTHING_COLLECTED]
    ungraded = [row.student for row in table.rows if row.remark == "not graded yet"]
    waiting = sum(bool(row.by_hand) for row in table.rows)
    totals = [row.total for row in table.rows if row.total is not None]
    said = [f"{len(works)} of {len(table.rows)} students are graded."]
    if absent:
        said.append(f"Nothing collected: {', '.join(absent)}.")
    if ungraded:
        said.append(f"Handed in and not graded yet: {', '.join(ungraded)}.")
    said.append(
        f"Mean total {figure_text(float(np.mean(totals)), 1)} of {table.max_total:g} points"
        + (f"; {waiting} still wait for marks by hand, which count as 0 until then."
           if waiting else ".")
    )  # fmt: skip
    for_whom = (
        "For the instructor only: students' ids and true lengths stand in this page. Do not hand "
        "it out, and keep it where your school keeps marks."
    )
    return for_whom, " ".join(said)


def _questions(table: MarksTable, works: Sequence[Work], key: AnswerKey) -> list[Section]:
    parts = parts_of(table, works)
    if parts is None:
        return []
    words = [
        "Difficulty is the share of its points that the class earned; discrimination how a part "
        "goes with the total of the others (r, from −1 to 1). Students who answered nothing are "
        "left out. Cases stand together by what makes them hard: every student has them in "
        "another order.",
    ]
    if parts.waiting:
        words.append(f"Left out until all of it is marked: {', '.join(parts.waiting)}.")
    if len(parts.points) < FEW_STUDENTS:
        words.append(f"With {counted(len(parts.points), 'student')} these figures say little.")
    hardest = min(parts.difficulty, key=parts.difficulty.__getitem__, default=None)
    shown: list[Sheet | Picture] = []
    if hardest is not None:
        sentence = (
            f"Points earned by part. The hardest is {hardest} "
            f"({percent_text(parts.difficulty[hardest])})."
        )
        shown += [parts_picture(parts.difficulty, sentence), parts_sheet(parts)]
    items = next(iter(key.students.values())).items
    shown += [options_sheet(name, items[name].item, works) for name in sorted(items)]
    alpha, kr20 = parts.reliability(parts.names), parts.reliability(items)
    reliable = (
        f"Cronbach's alpha of all {len(parts.names)} parts: {figure_text(alpha.value)} (95 % "
        f"interval {range_text(alpha.low, alpha.high)}). KR-20 of the {len(items)} questions with "
        f"options: {figure_text(kr20.value)} ({range_text(kr20.low, kr20.high)}).",
        "Both say how far another set of such parts would put the students in the same order. Few "
        "parts that ask for different things make them low; that alone is no fault. For a decision "
        "about one student 0.8 and more is commonly asked for. Students who answered nothing are "
        "left out.",
    )
    return [
        Section("Questions: difficulty and discrimination", tuple(words), tuple(shown)),
        Section("Reliability of the total", reliable),
    ]


def _beliefs(counts: Sequence[Count]) -> Section | None:
    if not counts:
        return None
    words = (
        "A misconception is named for a student when all their answers together are far more "
        "likely for somebody who holds it than for a careful one who slips now and then. Options "
        "chosen are counted beside it: a single option may be a slip.",
    )
    return Section("Misconceptions", words, (beliefs_sheet(counts),))
