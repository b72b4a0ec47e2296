"""The questions of a lesson, which lie beside its notebook in ``NAME.toml``."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from lengthwise.marking.items import Item, read_items
from lengthwise.marking.lesson_log import note_answer
from lengthwise.panels.check_items import CheckItem, check_item


@dataclass(frozen=True)
class Questions:
    """The questions of one lesson, by name. What a lesson's notebook calls builds on this.

    Under ``lesson``, its name, answers are kept for the start page, guesses that are asked first
    aside; without a name nothing is kept.
    """

    items: dict[str, Item]
    lesson: str = field(default="", kw_only=True)

    def check(self, name: str) -> CheckItem:
        """Ask one of the lesson's questions.

        Raises
        ------
        ValueError
            If the lesson has no question of this name.
        """
        if name not in self.items:
            raise ValueError(f"name: got {name!r}; the lesson asks {', '.join(self.items)}.")

        item = self.items[name]

        def answered(right: bool) -> None:
            if self.lesson and not item.asked_first:
                note_answer(self.lesson, name, right)

        return check_item(item, answered)


def items_beside(name: str, folder: str | Path = ".") -> dict[str, Item]:
    """Read the questions of the lesson called ``name``; a notebook runs in its own folder."""
    return read_items(Path(folder) / f"{name}.toml")
