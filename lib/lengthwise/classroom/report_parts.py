"""The parts of an assignment over the class: how hard each is, and how it goes with the rest.

Every student has cases of their own, in an order of their own, so cases are brought together by
what makes them hard and not by their number.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lengthwise.classroom.agreement import Estimate, cronbach_alpha, discriminations
from lengthwise.classroom.marks_table import MarksRow, MarksTable
from lengthwise.classroom.report_answers import Work
from lengthwise.classroom.report_page import UNKNOWN, figure_text, percent_text
from lengthwise.marking.items import Item
from lengthwise.marking.sheet import Sheet

FEW_STUDENTS = 10
"""With fewer, difficulty and discrimination say little, and the report says so."""

HARD, EASY, WEAK = 0.30, 0.90, 0.20
"""Common practice: below, nearly nobody can; above, nearly everybody; hardly goes with the rest."""


@dataclass(frozen=True)
class Parts:
    """Shares of the points by student and part, shape (students, parts).

    ``waiting``: parts that are left out because some of them are still to be marked by hand.
    """

    names: tuple[str, ...]
    points: npt.NDArray[np.float64]
    maxima: npt.NDArray[np.float64]
    waiting: tuple[str, ...]

    @property
    def difficulty(self) -> dict[str, float]:
        """Of each part the mean share of its points."""
        means = (self.points / self.maxima).mean(axis=0)
        return {name: float(mean) for name, mean in zip(self.names, means, strict=True)}

    def reliability(self, names: Iterable[str]) -> Estimate:
        """Cronbach's alpha of the total of the parts with these names."""
        wanted = set(names)
        return cronbach_alpha(self.points[:, [name in wanted for name in self.names]])


def parts_of(table: MarksTable, works: Sequence[Work]) -> Parts | None:
    """The parts of an assignment over the students who answered anything; None without any."""
    answered = [work for work in works if work.answered]
    if not answered:
        return None
    rows = {row.student: row for row in table.rows}
    by_kind = _have_same_kinds(answered)
    parts = [_parts_by_question(work, table.maxima, by_kind) for work in answered]
    kept, columns, maxima, waiting = [], [], [], []
    for part in parts[0]:
        points = [
            [_marked(rows[work.student], question) for question in mine[part]]
            for work, mine in zip(answered, parts, strict=True)
        ]
        if any(value is None for mine in points for value in mine):
            waiting.append(part)
            continue
        kept.append(part)
        columns.append([sum(value or 0.0 for value in mine) for mine in points])
        maxima.append([sum(table.maxima[question] for question in mine[part]) for mine in parts])
    shape = (len(answered), len(kept))
    return Parts(
        tuple(kept),
        np.array(columns, dtype=float).reshape(shape[::-1]).T,
        np.array(maxima, dtype=float).reshape(shape[::-1]).T,
        tuple(waiting),
    )


def _marked(row: MarksRow, question: str) -> float | None:
    """The points of a question; None while somebody has to mark it by hand."""
    return None if question in row.by_hand else row.points.get(question)


def kind_name(trap: str) -> str:
    """What a case is called in the report; which source is the odd one differs by student.

    >>> kind_name("odd one out: working_film"), kind_name("none, near a nerve or the sinus")
    ('one source does not belong', 'plain, near a nerve or the sinus')
    """
    if trap.startswith("odd one out"):
        return "one source does not belong"
    return f"plain{trap[4:]}" if trap == "none" or trap.startswith("none,") else trap


def _have_same_kinds(works: Sequence[Work]) -> bool:
    """Whether every student has the same kinds of case, in whatever order."""
    kinds = [Counter(map(kind_name, work.kinds.values())) for work in works]
    return bool(kinds) and all(one == kinds[0] for one in kinds)


def _parts_by_question(work: Work, questions: Iterable[str], by_kind: bool) -> dict[str, list[str]]:
    """The questions of each part, for one student."""
    parts: dict[str, list[str]] = {}
    for question in questions:
        is_case = by_kind and question in work.kinds
        part = f"case: {kind_name(work.kinds[question])}" if is_case else question
        parts.setdefault(part, []).append(question)
    return parts


def parts_sheet(parts: Parts) -> Sheet:
    """Difficulty and discrimination of every part."""
    rows = [
        (name, percent_text(share), figure_text(goes), _remark(share, goes))
        for (name, share), goes in zip(
            parts.difficulty.items(), discriminations(parts.points), strict=True
        )
    ]
    heads = ("part", "points earned", "goes with the rest (r)", "what it says")
    return Sheet("Difficulty and discrimination", heads, tuple(rows))


def _remark(share: float, goes: float) -> str:
    said = []
    if share < HARD:
        said.append("hard: worth going through together")
    if share > EASY:
        said.append("nearly everybody can do it")
    if math.isfinite(goes) and goes < 0:
        said.append("those who are good elsewhere fail it: look at its wording")
    elif math.isfinite(goes) and goes < WEAK:
        said.append("hardly goes with the rest")
    return "; ".join(said) or UNKNOWN


def options_sheet(name: str, item: Item, works: Sequence[Work]) -> Sheet:
    """How often each option of a question was chosen, the right one first."""
    picks = Counter(work.chosen[name] for work in works if work.chosen.get(name) is not None)
    options = sorted(item.options, key=lambda option: not option.correct)
    answered = sum(picks.values())
    rows = tuple(
        (
            option.text,
            "right" if option.correct else option.misconception or "a slip",
            str(picks[option]),
            percent_text(picks[option] / answered) if answered else UNKNOWN,
        )
        for option in options
    )
    return Sheet(f"{name}. {item.stem}", ("option", "stands for", "chosen", "share"), rows)
