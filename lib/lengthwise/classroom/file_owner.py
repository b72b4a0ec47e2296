"""Whose file is it? What its folder and name say, and what was typed in it.

Learning platforms put a student's id, name or e-mail address somewhere into the path. All of them
are compared with the class list without regard to capitals and accents, and an id inside another
one (``student-1`` in ``student-11``) does not count.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from lengthwise.classroom.roster import Student
from lengthwise.marking.student_id import folded_id

LONGEST_SHORT_NUMBER = 3
_ENDING = re.compile(r"\.(?:ipynb(?:\.(?:txt|json))?|zip)$")
_COPY = re.compile(r"\(\d+\)")
_GAPS = re.compile(r"[\W_]+")


@dataclass(frozen=True)
class Owner:
    """Whose file it is, and what is to be said of it; or None, and why that is unclear."""

    student: str | None
    remark: str = ""


@dataclass(frozen=True)
class NameBook:
    """The class list in the spellings that a path may hold."""

    ids: dict[str, str]
    spellings: dict[str, frozenset[str]]
    in_a_part: re.Pattern[str]
    not_names: re.Pattern[str]


def name_book(students: Iterable[Student], assignments: Iterable[str]) -> NameBook:
    """Everything that names a student; ``assignments`` are words that name nobody."""
    ids: dict[str, str] = {}
    spellings: dict[str, set[str]] = {}
    patterns: set[str] = set()
    for one in students:
        ids[folded_id(one.id)] = one.id
        words = [one.email] if one.email else []
        # "1" stands in many a name, "a6 (1)" and "attempt 1" among them: alone it has to be.
        if not one.id.isdigit() or len(one.id) > LONGEST_SHORT_NUMBER:
            words.append(one.id)
        for word in map(_folded, words):
            spellings.setdefault(word, set()).add(one.id)
            patterns.add(re.escape(word))
        for name in _orders(one):
            spellings.setdefault("".join(name), set()).add(one.id)
            patterns.add(r"[\W_]*".join(map(re.escape, name)))
    longest_first = sorted(patterns, key=lambda pattern: (-len(pattern), pattern))
    return NameBook(
        ids,
        {spelling: frozenset(who) for spelling, who in spellings.items()},
        re.compile(rf"(?<![^\W_])(?:{'|'.join(longest_first) or '(?!)'})(?![^\W_])"),
        re.compile(
            "|".join([_COPY.pattern, *(re.escape(each.casefold()) for each in assignments)])
        ),
    )


def _orders(student: Student) -> Iterator[tuple[str, ...]]:
    """First name first, and last name first; nothing where one of the two is not known."""
    first = tuple(_GAPS.sub(" ", _folded(student.first_name)).split())
    last = tuple(_GAPS.sub(" ", _folded(student.last_name)).split())
    if first and last:
        yield (*first, *last)
        yield (*last, *first)


def _folded(text: str) -> str:
    """Without capitals and accents."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in apart if not unicodedata.combining(sign))


def students_named(where: str, book: NameBook) -> frozenset[str]:
    """The students whose id, full name or e-mail address is in a path.

    A name that two students share names neither.

    >>> book = name_book([Student("student-1"), Student("s7", "Åsa", "Öberg")], ["a6_reconcile"])
    >>> sorted(students_named("Oberg Asa_9917_a6_reconcile (1).ipynb", book))
    ['s7']
    >>> sorted(students_named("STUDENT-1/work.ipynb", book)), students_named("1.ipynb", book)
    (['student-1'], frozenset())
    """
    named: set[str] = set()
    for part in where.split("/"):
        text = _ENDING.sub("", part.casefold())
        if folded_id(text) in book.ids:
            named.add(book.ids[folded_id(text)])
            continue
        for found in book.in_a_part.finditer(_folded(book.not_names.sub(" ", text))):
            who = book.spellings.get(found[0]) or book.spellings.get(_GAPS.sub("", found[0]))
            named |= who if who is not None and len(who) == 1 else set()
    return frozenset(named)


def owner_of(where: str, typed: str | None, book: NameBook) -> Owner:
    """Whose file it is: the name of the file decides, else the id typed in it.

    >>> book = name_book([Student("ada"), Student("ben")], [])
    >>> owner_of("ada.ipynb", "ADA", book)
    Owner(student='ada', remark='')
    >>> owner_of("ada.ipynb", "ben", book)
    Owner(student=None, remark='its name says ada, but the id typed in it is ben')
    """
    named = sorted(students_named(where, book))
    known = book.ids.get(folded_id(typed)) if typed is not None else None
    if len(named) > 1:
        return Owner(None, f"its name speaks of {' and of '.join(named)}")
    if not named and known is not None:
        return Owner(known, "taken by the id typed in it")
    if not named and typed is None:
        return Owner(None, "neither its name nor the notebook says whose it is")
    if not named:
        return Owner(None, f"the id typed in it ({_short(typed)}) is not on the class list")
    if known is not None and known != named[0]:
        return Owner(None, f"its name says {named[0]}, but the id typed in it is {known}")
    if typed is None:
        return Owner(named[0], "no id typed in it; taken by its name")
    unknown = f"the id typed in it ({_short(typed)}) is not on the class list; taken by its name"
    return Owner(named[0], "" if known else unknown)


def _short(typed: str | None) -> str:
    return str(typed)[:40]
