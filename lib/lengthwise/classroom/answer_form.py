"""The form of an answer: is it a number in millimetres, a word from the list, low before high?

One home for these rules. The student's own check uses them on the values in the notebook, and
grading uses them on the values read from the file, so both see the same answer. Nothing here
knows whether an answer is right.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from numbers import Real

from lengthwise.classroom.plain_text import QUOTES, is_range, plain

SHORTEST_MM = 5.0
LONGEST_MM = 45.0
FAR_FROM_FORAMEN_MM = 3.0
LENGTH_FIELDS = ("foramen_mm", "working_length_mm", "low_mm", "high_mm")
FIELDS = (*LENGTH_FIELDS, "next_step")

_TYPED_NUMBER = re.compile(
    r"([+-]?\s?(?:\d{1,6}(?:[.,]\d{0,9})?|[.,]\d{1,9}))\s*(?:mm|millimet(?:er|re)s?)?\.?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class BareWord:
    """A word that was typed without quotes, such as ``next_step = film``."""

    word: str


@dataclass(frozen=True)
class Tidied:
    """What an answer means: its value (None: no answer), what was mended, what is wrong with it."""

    value: float | str | None
    mended: str = ""
    problem: str = ""


def tidy_number(name: str, raw: object) -> Tidied:
    """Turn what was typed into a number, mending a decimal comma or a unit and saying so.

    ``name`` is the answer's name, used in the sentences; ``raw`` is the typed value. ``...`` and
    None mean that nothing was answered.

    >>> tidy_number("foramen_mm", 25.5).value
    25.5
    >>> tidy_number("foramen_mm", (25, 5))
    Tidied(value=25.5, mended='foramen_mm: 25,5 was read as 25.5 (write a point)', problem='')
    >>> tidy_number("foramen_mm", "about 25").problem
    "foramen_mm: 'about 25' is not a number; write it like 25.5"
    """
    if raw is None or raw is Ellipsis:
        return Tidied(None)
    if isinstance(raw, (BareWord, bool)):
        typed = raw.word if isinstance(raw, BareWord) else raw
        return Tidied(None, problem=f"{name}: {typed} is not a number; write it like 25.5")
    if isinstance(raw, tuple) and len(raw) == 2 and all(type(part) is int for part in raw):
        whole, decimals = raw
        if decimals >= 0:
            return _mended(name, f"{whole},{decimals}", float(f"{whole}.{decimals}"), "a point")
    if isinstance(raw, str):
        return tidy_typed_number(name, raw)
    if isinstance(raw, Real):
        try:
            value = float(raw)
        except OverflowError:
            value = math.inf
        if math.isfinite(value):
            return Tidied(value)
    return Tidied(None, problem=f"{name}: {_shown(raw)} is not a number; write it like 25.5")


def tidy_typed_number(name: str, text: str) -> Tidied:
    """Read a number that was typed as text, with a comma or a unit if need be.

    >>> tidy_typed_number("low_mm", "24,75 mm").value
    24.75
    """
    found = _TYPED_NUMBER.fullmatch(plain(text).strip())
    if found is None and is_range(text):
        return Tidied(
            None, problem=f"{name}: {_shown(text)} looks like a range; give one number, like 25.5"
        )
    if found is None:
        return Tidied(None, problem=f"{name}: {_shown(text)} is not a number; write it like 25.5")
    value = float("".join(found[1].split()).replace(",", "."))
    return _mended(name, text.strip(), value, "the number alone, with a point")


def _mended(name: str, typed: str, value: float, how: str) -> Tidied:
    return Tidied(value, mended=f"{name}: {typed} was read as {value:g} (write {how})")


def _shown(raw: object) -> str:
    shown = repr(raw)
    return shown if len(shown) <= 40 else shown[:37] + "..."


def tidy_word(name: str, raw: object, allowed: Iterable[str]) -> Tidied:
    """Turn what was typed into one of the allowed words, mending capitals and missing quotes.

    >>> tidy_word("next_step", " Film", ["film", "dry"]).value
    'film'
    >>> tidy_word("next_step", "flim", ["film", "dry"]).problem
    "next_step: 'flim' is not one of the words film, dry; did you mean 'film'?"
    """
    if raw is None or raw is Ellipsis:
        return Tidied(None)
    words = list(allowed)
    typed = raw.word if isinstance(raw, BareWord) else raw
    by_folded = {word.casefold(): word for word in words}
    if isinstance(typed, str):
        folded = plain(typed).strip().strip(QUOTES).strip().casefold()
        if folded in by_folded:
            word = by_folded[folded]
            if isinstance(raw, BareWord):
                return Tidied(word, mended=f'{name}: {typed} was read as "{word}" (add quotes)')
            return Tidied(word)
        close = difflib.get_close_matches(folded, by_folded, n=1)
        hint = f"; did you mean '{by_folded[close[0]]}'?" if close else ""
    else:
        hint = ""
    return Tidied(
        None, problem=f"{name}: {_shown(typed)} is not one of the words {', '.join(words)}{hint}"
    )


@dataclass(frozen=True)
class DeterminationForm:
    """One determination as it can be used: values in mm or None, and what has to be said of it.

    ``problems`` make a value unusable; ``doubts`` are only worth a second look.
    """

    foramen_mm: float | None
    working_length_mm: float | None
    low_mm: float | None
    high_mm: float | None
    next_step: str | None
    mended: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def blank(self) -> bool:
        """Whether nothing was answered (and nothing was typed that could not be used)."""
        return not self.problems and all(getattr(self, field) is None for field in FIELDS)


def determination_form(raw: Mapping[str, object], words: Iterable[str]) -> DeterminationForm:
    """Look at the form of one determination.

    ``raw`` maps the five names in `FIELDS` to what was typed (a missing name means no answer);
    ``words`` are the allowed next steps.

    >>> form = determination_form({"low_mm": 26, "high_mm": 25}, ["film"])
    >>> form.problems
    ('low_mm is 26 and high_mm is 25: low has to be the smaller number',)
    >>> form.low_mm is None
    True
    """
    tidied = {name: _tidy_length(name, raw.get(name)) for name in LENGTH_FIELDS}
    tidied["next_step"] = tidy_word("next_step", raw.get("next_step"), words)
    problems = [part.problem for part in tidied.values() if part.problem]
    mended = [part.mended for part in tidied.values() if part.mended]
    lengths = {
        name: part.value if isinstance(part.value, float) else None for name, part in tidied.items()
    }
    low, high = lengths["low_mm"], lengths["high_mm"]
    if low is not None and high is not None and low >= high:
        problems.append(
            f"low_mm is {low:g} and high_mm is {high:g}: low has to be the smaller number"
        )
        low = high = None
    step = tidied["next_step"].value
    return DeterminationForm(
        foramen_mm=lengths["foramen_mm"],
        working_length_mm=lengths["working_length_mm"],
        low_mm=low,
        high_mm=high,
        next_step=step if isinstance(step, str) else None,
        mended=tuple(mended),
        problems=tuple(problems),
        doubts=_doubts(lengths["foramen_mm"], lengths["working_length_mm"], low, high, step),
    )


def _tidy_length(name: str, raw: object) -> Tidied:
    tidied = tidy_number(name, raw)
    value = tidied.value
    if isinstance(value, float) and not SHORTEST_MM <= value <= LONGEST_MM:
        return Tidied(
            None,
            problem=f"{name}: {value:g} is not a length of a tooth in millimetres "
            f"(between {SHORTEST_MM:g} and {LONGEST_MM:g}); is the decimal point in its place?",
        )
    return tidied


def _doubts(
    foramen: float | None,
    working: float | None,
    low: float | None,
    high: float | None,
    step: float | str | None,
) -> tuple[str, ...]:
    doubts = []
    if working is not None and step not in (None, "confirm"):
        doubts.append(
            f'you gave a length, and "{step}", which says that none should be taken yet: keep one '
            "of the two"
        )
    if foramen is not None and working is not None and working > foramen:
        doubts.append("your working_length_mm is longer than your foramen_mm")
    if foramen is not None and working is not None and abs(working - foramen) > FAR_FROM_FORAMEN_MM:
        doubts.append(
            f"working_length_mm is more than {FAR_FROM_FORAMEN_MM:g} mm away from your foramen_mm"
        )
    if foramen is not None and low is not None and high is not None and not low <= foramen <= high:
        doubts.append("your foramen_mm lies outside your own interval")
    return tuple(doubts)


@dataclass(frozen=True)
class AskedForm:
    """The form of one value of an exercise: a number within limits, one of some words, or either.

    Words alone have no limits; a number alone has no words.
    """

    name: str
    low: float = 0.0
    high: float = 0.0
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class ExerciseForm:
    """The values of an exercise as they can be used: by name, None where there is no answer."""

    values: dict[str, float | str | None]
    mended: tuple[str, ...]
    problems: tuple[str, ...]

    @property
    def missing(self) -> tuple[str, ...]:
        """Names without an answer that can be used."""
        return tuple(name for name, value in self.values.items() if value is None)


def exercise_form(raw: Mapping[str, object], asked: Iterable[AskedForm]) -> ExerciseForm:
    """Look at the form of an exercise's answers.

    >>> asked = [AskedForm("short_mm", -5, 5), AskedForm("mark", words=("A", "B"))]
    >>> exercise_form({"short_mm": 50, "mark": "b"}, asked).problems
    ('short_mm: 50 is not between -5 and 5; is the decimal point in its place?',)
    >>> either = [AskedForm("signal_mm", 5, 45, ("none",))]
    >>> [exercise_form({"signal_mm": typed}, either).values for typed in ("None", "24,5")]
    [{'signal_mm': 'none'}, {'signal_mm': 24.5}]
    """
    tidied = {each.name: _tidy_asked(each, raw.get(each.name)) for each in asked}
    return ExerciseForm(
        values={name: part.value for name, part in tidied.items()},
        mended=tuple(part.mended for part in tidied.values() if part.mended),
        problems=tuple(part.problem for part in tidied.values() if part.problem),
    )


def _tidy_asked(asked: AskedForm, raw: object) -> Tidied:
    word = tidy_word(asked.name, raw, asked.words)
    if asked.words and not (word.problem and asked.low < asked.high):
        return word
    tidied = tidy_number(asked.name, raw)
    if asked.words and tidied.problem:
        neither = f"neither a number, written like 25.5, nor one of {', '.join(asked.words)}"
        typed = raw.word if isinstance(raw, BareWord) else raw
        return Tidied(None, problem=f"{asked.name}: {_shown(typed)} is {neither}")
    if isinstance(tidied.value, float) and not asked.low <= tidied.value <= asked.high:
        problem = (
            f"{asked.name}: {tidied.value:g} is not between {asked.low:g} and {asked.high:g}; "
            "is the decimal point in its place?"
        )
        return Tidied(None, problem=problem)
    return tidied
