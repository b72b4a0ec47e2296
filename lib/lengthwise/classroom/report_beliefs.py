"""Misconceptions over the class, and the two that the next session should take up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lengthwise.classroom.report_answers import Work
from lengthwise.classroom.report_page import UNKNOWN
from lengthwise.marking.misconceptions import MISCONCEPTIONS, Misconception
from lengthwise.marking.sheet import Sheet

TAKE_UP = 2


@dataclass(frozen=True)
class Count:
    """One misconception: whose answers as a whole look like it, and who chose an option of it."""

    about: Misconception
    named: tuple[str, ...]
    chosen: tuple[str, ...]

    @property
    def weight(self) -> tuple[int, int]:
        """What it is ranked by."""
        return len(self.named), len(self.chosen)


def count_beliefs(works: Sequence[Work]) -> tuple[Count, ...]:
    """Every misconception that was seen at all, the most frequent first."""
    counts = []
    for one in MISCONCEPTIONS.values():
        named = [w.student for w in works if any(n.misconception == one.id for n in w.named)]
        chosen = [
            work.student
            for work in works
            for option in work.chosen.values()
            if option is not None and not option.correct and option.misconception == one.id
        ]
        if named or chosen:
            counts.append(Count(one, tuple(named), tuple(chosen)))
    return tuple(sorted(counts, key=lambda count: count.weight, reverse=True))


def take_up(counts: Sequence[Count]) -> tuple[str, ...]:
    """What the next session should take up, in sentences."""
    if not counts:
        return ("No misconception was seen in these answers.",)
    said = []
    for place, one in enumerate(counts[:TAKE_UP], 1):
        n = len(one.named)
        seen = f"the answers of {n} student{'s' * (n != 1)} look like it" if n else ""
        if one.chosen:
            options = f"an option that stands for it was chosen {_times(len(one.chosen))}"
            seen = f"{seen}, and {options}" if seen else options
        said.append(
            f"{place}. {one.about.id}, “{one.about.belief}”: {seen}. Take up "
            f"{_plain(one.about.again)}."
        )
    return tuple(said)


def beliefs_sheet(counts: Sequence[Count]) -> Sheet:
    """The counts as a table."""
    rows = tuple(
        (
            one.about.id,
            one.about.belief,
            str(len(one.named)),
            ", ".join(one.named) or UNKNOWN,
            str(len(one.chosen)),
        )
        for one in counts
    )
    heads = ("id", "belief", "students", "whose answers look like it", "options chosen")
    return Sheet("Counted over the class", heads, rows)


def _times(n: int) -> str:
    return {1: "once", 2: "twice"}.get(n, f"{n} times")


def _plain(markdown: str) -> str:
    return markdown.replace("*", "")
