"""A question with values to give: what a student is shown, what is asked, what is expected.

Where a determination is judged by weighing its evidence, an exercise has answers that follow
from what is shown; each value carries its own tolerance.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from .clues import Clue, follows
from .marks_record import Marks
from .sheet import Sheet

Answer = float | str | None

BY_CHANCE = 0.1
"""So often an answer at random is right, or where a belief leads to."""


@dataclass(frozen=True)
class Slip:
    """A value that a mistake leads to, the belief behind it, and what to look at again.

    Without a belief (empty) it is answered like any other, and no belief is named for it.
    """

    value: float | str
    misconception: str
    sentence: str


@dataclass(frozen=True)
class Asked:
    """One value that is asked for.

    Attributes
    ----------
    name : what the student types it after, such as ``foramen_mm``.
    means : what it is, in words.
    expected : the answer: a number, or one of `words`.
    full, nothing : a number this far off earns all, or nothing; in between linearly.
    low, high : the numbers that the form allows.
    words : the words that the form allows; empty for a number. With `low` below `high` a number
        or one of the words.
    slips : values that mistakes lead to.
    also : words that are as good as `expected`.
    """

    name: str
    means: str
    expected: float | str
    full: float = 0.0
    nothing: float = 0.0
    low: float = 0.0
    high: float = 0.0
    words: tuple[str, ...] = ()
    slips: tuple[Slip, ...] = ()
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Exercise:
    """A question as the instructor keeps it.

    Attributes
    ----------
    told : what the student reads first.
    sheets : tables.
    asked : the values, in the order in which they are typed.
    solution : Markdown, shown after marking.
    trap : what makes it hard, in plain words.
    picture, picture_words : a picture as a data URI, and what it shows; both may be empty.

    Examples
    --------
    >>> one = Exercise("A canal of 24.0 mm, target 0.5 mm.", (),
    ...     (Asked("working_length_mm", "working length", 23.5, 0.1, 0.5, 5, 45),), "24.0 - 0.5",
    ...     "none")
    >>> Exercise.from_json(one.to_json()) == one, one.marked({"working_length_mm": 23.8}).share
    (True, 0.5)
    >>> "expected" in str(one.shown())
    False
    """

    told: str
    sheets: tuple[Sheet, ...]
    asked: tuple[Asked, ...]
    solution: str
    trap: str
    picture: str = ""
    picture_words: str = ""

    def to_json(self) -> str:
        """The exercise with its answers: for the instructor's folder only."""
        return json.dumps(asdict(self))

    @classmethod
    def from_json(cls, text: str) -> "Exercise":
        """An exercise as `to_json` wrote it."""
        data = json.loads(text)
        asked = tuple(
            Asked(
                **{
                    **each,
                    "words": tuple(each["words"]),
                    "also": tuple(each.get("also", ())),
                    "slips": tuple(Slip(**slip) for slip in each["slips"]),
                }
            )
            for each in data["asked"]
        )
        return cls(**{**data, "sheets": sheets_from(data["sheets"]), "asked": asked})

    def shown(self) -> dict[str, Any]:
        """What the student gets: everything but expected values, slips and solution."""
        form = ("name", "means", "low", "high", "words")
        return {
            "told": self.told,
            "sheets": [asdict(sheet) for sheet in self.sheets],
            "asked": [{key: getattr(each, key) for key in form} for each in self.asked],
            "picture": self.picture,
            "picture_words": self.picture_words,
        }

    def marked(self, answers: Mapping[str, Answer]) -> Marks:
        """Mark the answers: every value asked for counts the same.

        Parameters
        ----------
        answers : by name; None or a missing name is not answered.
        """
        shares = [_share(each, answers.get(each.name)) for each in self.asked]
        rows = [
            f"| {each.means} | {_said(answers.get(each.name))} | {_wanted(each)} | "
            f"{round(100 * share)} % |"
            for each, share in zip(self.asked, shares, strict=True)
        ]
        table = ["| asked for | you answered | expected | earned |", "|---|---|---|---|", *rows]
        parts = ["\n".join(table), *self._slips(answers), self.solution]
        clue = self._clue(answers, all(share == 1 for share in shares))
        right = f"{sum(share == 1 for share in shares)} of {len(shares)} right"
        share = sum(shares) / len(shares)
        return Marks(share, "\n\n".join(parts), clues=(clue,), yours=right)

    def _slips(self, answers: Mapping[str, Answer]) -> list[str]:
        return list({slip.sentence: None for _, slip in self._slipped(answers)})

    def _slipped(self, answers: Mapping[str, Answer]) -> list[tuple[Asked, Slip]]:
        return [
            (each, slip)
            for each in self.asked
            for slip in each.slips
            if _share(each, answers.get(each.name)) < 1
            and _off(each.full, slip.value, answers.get(each.name))
        ]

    def _clue(self, answers: Mapping[str, Answer], right: bool) -> Clue:
        """All values together: one slip leads to several of them."""
        seen: dict[str, str] = {}
        for each, slip in self._slipped(answers):
            told = f"{each.means}: you answered {_said(answers.get(each.name))}."
            if slip.misconception:
                seen.setdefault(slip.misconception, told)
        speak = {slip.misconception for each in self.asked for slip in each.slips} - {""}
        careful = float(right)
        believed = {one: follows(float(one in seen), careful) for one in speak}
        return Clue(careful, BY_CHANCE, believed, seen)


def sheets_from(data: list[dict[str, Any]]) -> tuple[Sheet, ...]:
    """Tables as they stand in JSON."""
    return tuple(
        Sheet(one["caption"], tuple(one["heads"]), tuple(tuple(row) for row in one["rows"]))
        for one in data
    )


def _share(asked: Asked, answer: Answer) -> float:
    if isinstance(asked.expected, str) or not isinstance(answer, int | float):
        return float(answer in (asked.expected, *asked.also))
    # A hundred-thousandth of a millimetre is a rounding of the machine, not of the student.
    off = round(abs(answer - asked.expected), 5)
    if off <= asked.full:
        return 1.0
    return max(0.0, (asked.nothing - off) / (asked.nothing - asked.full))


def _off(full: float, value: float | str, answer: Answer) -> bool:
    if isinstance(value, str) or not isinstance(answer, int | float):
        return answer == value
    return round(abs(answer - value), 5) <= full


def _said(answer: Answer) -> str:
    if answer is None:
        return "nothing that could be read"
    return answer if isinstance(answer, str) else f"{answer:g}"


def _wanted(asked: Asked) -> str:
    return " or ".join((_said(asked.expected), *asked.also))
