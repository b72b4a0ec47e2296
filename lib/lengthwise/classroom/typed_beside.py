"""What a student typed for an answer: in its cell, in several copies of it, or in cells beside it.

A split cell, a copied cell, or a new cell under the old one are the same answer to the student. A
place where something was typed but nothing can be read is told, so that it never counts as blank
without a word.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from lengthwise.classroom.answer_form import FIELDS, LENGTH_FIELDS
from lengthwise.classroom.cells import Cell, compact, source_of
from lengthwise.classroom.read_answers import read_cell

_BLANK = (..., None)


@dataclass(frozen=True)
class Typed:
    """The text of an answer, the cells it came from, how it was put together, what is unclear."""

    source: str
    places: tuple[int, ...]
    how: str = ""
    unclear: str = ""


def names_in(source: str) -> frozenset[str]:
    r"""The names that a cell gives a value, or tries to.

    >>> sorted(names_in("foramen_mm = 25.5\nlow_mm = ..."))
    ['foramen_mm', 'low_mm']
    """
    reading = read_cell(source)
    return frozenset(reading.values) | frozenset(reading.unread)


def answered_in(source: str) -> frozenset[str]:
    r"""The names with something typed after them: not three dots, not nothing.

    >>> sorted(answered_in("foramen_mm = 25.5\nlow_mm = ..."))
    ['foramen_mm']
    """
    reading = read_cell(source)
    given = (name for name, value in reading.values.items() if value not in _BLANK)
    return frozenset(given) | frozenset(reading.unread)


def typed_for(
    stub: str,
    copies: Sequence[int],
    beside: Iterable[int],
    cells: Sequence[Cell],
    check: int | None,
) -> Typed:
    """What was typed for an answer whose released text is ``stub``.

    Parameters
    ----------
    copies : places of the cell and of its copies; at least one.
    beside : places of the student's own cells round it, in order.
    cells : the submission.
    check : place of the answer's check, if it is there.
    """
    wanted = names_in(stub)
    texts = {place: source_of(cells[place]) for place in (*copies, *beside)}
    answered = {place: answered_in(text) & wanted for place, text in texts.items()}
    answering = [place for place in copies if answered[place]]
    filled = answering or _changed(stub, {p: texts[p] for p in copies}) or list(copies)
    used, how = _of_copies(filled, answered, check)
    given = frozenset().union(*(answered[place] for place in used))
    unclear = ""
    for place in beside:
        if not answered[place]:
            continue
        if not given & answered[place] and (not given or check is None or place < check):
            used, given = [*used, place], given | answered[place]
            how = "{} stands in a cell of the student's own, joined"
        elif not _says_the_same(texts[place], [texts[one] for one in used], answered[place]):
            unclear = "a cell of the student's own beside it says something else, and is not used"
    # A cell whose stub would follow its answer would undo it: what is answered stands last.
    ordered = sorted(used, key=lambda place: (bool(answered[place]), place))
    source = "\n".join(texts[place] for place in ordered)
    unclear = unclear or unread_beside_the_dots(stub, source)
    return Typed(source, tuple(used), how, unclear)


def typed_in_words(
    stub: str, copies: Sequence[int], cells: Sequence[Cell], check: int | None
) -> Typed:
    """What was written for an answer in sentences: of several copies the last that is filled in."""
    texts = {place: source_of(cells[place]) for place in copies}
    used, _ = _of_copies(_changed(stub, texts) or list(copies), {}, check)
    return Typed(texts[used[0]], tuple(used))


def _changed(stub: str, texts: Mapping[int, str]) -> list[int]:
    return [p for p, text in texts.items() if text.strip() and compact(text) != compact(stub)]


def _of_copies(
    filled: list[int], answered: Mapping[int, frozenset[str]], check: int | None
) -> tuple[list[int], str]:
    """Parts of a split cell all count; of copies, the last above the check."""
    parts = len(filled) > 1 and all(answered.get(place) for place in filled)
    if parts and not any(answered[a] & answered[b] for a, b in combinations(filled, 2)):
        return filled, "{} was split over several cells, joined"
    above = [place for place in filled if check is None or place < check]
    return [(above or filled)[-1]], ""


def _says_the_same(own: str, used: Iterable[str], names: frozenset[str]) -> bool:
    there = read_cell("\n".join(used)).values
    here = read_cell(own).values
    return all(name in there and there[name] == here.get(name) for name in names)


def unread_beside_the_dots(stub: str, source: str) -> str:
    r"""Why an answer that looks blank may not be, or an empty text.

    >>> unread_beside_the_dots("a_mm = ...", "# a_mm = 25")
    'the line of a_mm is missing in its cell'
    >>> unread_beside_the_dots("a_mm = ...  # in mm", "a_mm = ...  # in mm: 25.5")
    'something stands beside the three dots of a_mm'
    >>> unread_beside_the_dots("a_mm = ...", "a_mm = ...")
    ''
    """
    wanted, answered = names_in(stub), answered_in(source)
    missing = [name for name in _in_order(stub, wanted) if name not in names_in(source)]
    if wanted.issuperset(FIELDS) and "next_step" in answered and not answered & {*LENGTH_FIELDS}:
        missing = [name for name in missing if name not in LENGTH_FIELDS]  # it says "not yet"
    if missing:
        return f"the line of {', '.join(missing)} is missing in its cell"
    ours, theirs = _lines(stub), _lines(source)
    grown = [
        name
        for name in _in_order(stub, wanted - answered)
        if theirs.get(name, frozenset()) - ours.get(name, frozenset())
    ]
    if grown:
        return f"something stands beside the three dots of {', '.join(grown)}"
    return ""


def _in_order(stub: str, names: Iterable[str]) -> list[str]:
    return sorted(names, key=stub.find)


def _lines(source: str) -> dict[str, frozenset[str]]:
    """The words and numbers in the last line of each name, comments among them."""
    found = {}
    for line in source.splitlines():
        name = re.match(r"\s*(\w+)\s*=", line)
        if name is not None:
            found[name[1]] = frozenset(re.findall(r"\w+", line))
    return found
