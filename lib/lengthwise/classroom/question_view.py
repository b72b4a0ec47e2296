"""A question with lettered options, as accessible HTML and as plain text."""

from __future__ import annotations

import html
from dataclasses import dataclass

from lengthwise.marking.items import ShuffledItem


@dataclass(frozen=True)
class QuestionView:
    """A question on show in a notebook: its stem and its options by letter, without keys."""

    name: str
    stem: str
    options: dict[str, str]

    def _repr_html_(self) -> str:
        listed = "".join(
            f"<dt><strong>{html.escape(letter)}</strong></dt><dd>{html.escape(text)}</dd>"
            for letter, text in self.options.items()
        )
        return f"<p>{html.escape(self.stem.strip())}</p><dl>{listed}</dl>"

    def __repr__(self) -> str:
        listed = "\n".join(f"  {letter}  {text}" for letter, text in self.options.items())
        return f"{self.stem.strip()}\n{listed}"


def question_view(name: str, item: ShuffledItem) -> QuestionView:
    """A student's item without its key."""
    options = {letter: option.text for letter, option in item.lettered.items()}
    return QuestionView(name, item.item.stem, options)
