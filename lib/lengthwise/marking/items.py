"""Multiple-choice items: options that each stand for one belief, shuffled for every student."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .clues import choice_clue
from .marks_record import Marks

LETTERS = "ABCDEF"


@dataclass(frozen=True)
class Option:
    """One option: its text, whether it is right, the belief behind it, and what is answered.

    The right one has no belief behind it, and neither has a slip: an error of geometry, say, that
    no misconception of the course leads to.
    """

    text: str
    correct: bool
    misconception: str | None
    feedback: str


@dataclass(frozen=True)
class Item:
    """A question with its options in the order of the file.

    One that is asked first, before there is anything to look at, is a guess and not counted.
    """

    id: str
    stem: str
    options: tuple[Option, ...]
    asked_first: bool = False


@dataclass(frozen=True)
class ShuffledItem:
    """An item as one student sees it: option `order[i]` stands at letter i."""

    item: Item
    order: tuple[int, ...]

    @property
    def lettered(self) -> dict[str, Option]:
        """The options by letter, A first."""
        return {LETTERS[i]: self.item.options[place] for i, place in enumerate(self.order)}


def read_items(path: Path) -> dict[str, Item]:
    """The items of an assignment from its TOML file, by id.

    Every item needs a stem and two to six options, exactly one of them right; every wrong option
    names its misconception, or "" for a slip, and every option has feedback. `ValueError` names
    item and field.
    """
    with path.open("rb") as file:
        data = tomllib.load(file)
    return {name: _item(name, table) for name, table in data["items"].items()}


def _item(name: str, table: dict[str, object]) -> Item:
    stem, raw = table.get("stem"), table.get("options")
    if not isinstance(stem, str) or not stem.strip():
        raise ValueError(f"item {name}, field stem: missing; write the question")
    if not isinstance(raw, list) or not 2 <= len(raw) <= len(LETTERS):
        raise ValueError(f"item {name}, field options: allowed are 2 to {len(LETTERS)}; list them")
    options = tuple(_option(name, number, each) for number, each in enumerate(raw, start=1))
    right = sum(option.correct for option in options)
    if right != 1:
        raise ValueError(f"item {name}, field correct: {right} options are right; allowed is one")
    return Item(name, stem.strip(), options, table.get("asked_first", False) is True)


def _option(name: str, number: int, raw: dict[str, object]) -> Option:
    text, feedback = (str(raw.get(key, "")).strip() for key in ("text", "feedback"))
    for key, value in (("text", text), ("feedback", feedback)):
        if not value:
            raise ValueError(f"item {name}, option {number}, field {key}: missing; add it")
    correct = raw.get("correct", False) is True
    misconception = raw.get("misconception")
    if not correct and not isinstance(misconception, str):
        raise ValueError(
            f"item {name}, option {number}, field misconception: missing; a wrong option names "
            'the belief behind it, such as M7, or "" where it is a slip that none leads to'
        )
    return Option(text, correct, str(misconception) if misconception else None, feedback)


def shuffled(item: Item, rng: np.random.Generator) -> ShuffledItem:
    """The item with its options in an order of this student's own."""
    return ShuffledItem(item, tuple(int(i) for i in rng.permutation(len(item.options))))


def mark_item(item: ShuffledItem, letter: str | None) -> Marks:
    """Full marks for the right option; feedback says what to look at again."""
    if letter is None:
        return Marks(0.0, "**You answered:** nothing that could be read. Choose one letter.")
    option = item.lettered.get(letter.strip().upper())
    if option is None:
        allowed = ", ".join(item.lettered)
        return Marks(0.0, f"**You answered:** {letter}. The options are {allowed}.")
    offered = [one.misconception for one in item.item.options if one.misconception]
    clue = choice_clue(
        option.correct,
        option.misconception,
        offered,
        len(item.item.options),
        f"you chose “{option.text.rstrip('.')}”.",
    )
    return Marks(
        float(option.correct),
        f"**You answered:** {letter.upper()}. {option.text}\n\n{option.feedback}",
        clues=(clue,),
        yours=letter.upper(),
    )
