"""Misconceptions over the class, and the two that the next session should take up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lengthwise.classroom.report_answers import Work
from lengthwise.classroom.report_page import UNKNOWN
from lengthwise.counted import counted
from lengthwise.marking.misconceptions import MISCONCEPTIONS, Misconception
from lengthwise.marking.sheet import Sheet

TAKE_UP = 2
FEWEST_STUDENTS = 2
"""What one student alone shows is for a conversation, not for a session."""

WOULD_SHOW = (
    f"From {FEWEST_STUDENTS} students on who show the same one, the {TAKE_UP} most frequent stand "
    "here, with what to look at again in class."
)


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

    @property
    def students(self) -> int:
        """How many students show it in one way or the other."""
        return len({*self.named, *self.chosen})


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
    """What the next session should take up, in sentences.

    A belief counts here when two students show it; where several are tied for the last place, that
    is said.
    """
    if not counts:
        return ("No misconception was seen in these answers.",)
    enough = [one for one in counts if one.students >= FEWEST_STUDENTS]
    if not enough:
        return (
            f"Too little to say: of the {len(counts)} misconceptions that were seen, none was seen "
            f"in more than one student. They stand at the end of this page. {WOULD_SHOW}"
            if len(counts) > 1
            else f"Too little to say: only {counts[0].about.id}, “{counts[0].about.belief}”, was "
            f"seen, and in one student. {WOULD_SHOW}",
        )
    said = []
    for place, one in enumerate(enough[:TAKE_UP], 1):
        n = len(one.named)
        seen = f"the answers of {counted(n, 'student')} look like it" if n else ""
        if one.chosen:
            options = f"an option that stands for it was chosen {_times(len(one.chosen))}"
            seen = f"{seen}, and {options}" if seen else options
        said.append(
            f"{place}. {one.about.id}, “{one.about.belief}”: {seen}. To look at again: "
            f"{_plain(one.about.again)}."
        )
    last = enough[:TAKE_UP][-1].weight
    tied = [one.about.id for one in enough[TAKE_UP:] if one.weight == last]
    if tied:
        said.append(f"Seen as often as the last of these: {', '.join(tied)}.")
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
    """Without emphasis, and without the “at” of “look again at … and at …”.

    >>> _plain("the signs, and at *each* of them")
    'the signs, and each of them'
    """
    return markdown.replace("*", "").replace(", and at ", ", and ")
