"""A question to check oneself with: every answer is answered with what to look at again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ipywidgets import Button, Layout, VBox

from lengthwise.marking.items import Item, Option
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.spoken import Spoken

CHOOSE_FIRST = "Choose one of the answers first."
NOT_THIS = "Not this one."


@dataclass(frozen=True)
class CheckItem:
    """A question, its button and its answer.

    Attributes
    ----------
    item
        The question with its options.
    answers, button, feedback
        The controls; the feedback is announced when it changes.
    widget
        All of it, laid out.
    """

    item: Item
    answers: Choice
    button: Button
    feedback: Spoken
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        options = [f"- {option.text}" for option in self.item.options]
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": "\n".join([self.item.stem, *options])}


def check_item(item: Item, answered: Callable[[bool], None] = lambda right: None) -> CheckItem:
    """Make a question that can be answered as often as one likes.

    Parameters
    ----------
    item
        The question. Its options stay in the order of the file.
    answered
        Told after every answer whether it was right.

    Returns
    -------
    CheckItem
        Display it as the last value of a cell.

    Examples
    --------
    >>> from lengthwise.marking.items import Item, Option
    >>> asked = check_item(Item("i1", "Which one?", (
    ...     Option("This.", True, None, "Yes, this."),
    ...     Option("That.", False, "M7", "Look again at this."))))
    >>> asked.answers.value = "That."
    >>> asked.button.click()
    >>> asked.feedback.text
    'Not this one. Look again at this.'
    """
    answers = choice(item.stem, [option.text for option in item.options])
    button = text_button("Check my answer")
    feedback = Spoken()
    options = {option.text: option for option in item.options}

    def answer(_button: object) -> None:
        chosen = options.get(answers.value)
        feedback.say(CHOOSE_FIRST if chosen is None else said_of(chosen))
        if chosen is not None:
            answered(chosen.correct)

    button.on_click(answer)
    return CheckItem(item, answers, button, feedback, VBox([answers, button, feedback]))


def said_of(option: Option) -> str:
    """What is answered to an option; its first words say whether it was the right one."""
    return option.feedback if option.correct else f"{NOT_THIS} {option.feedback}"


def text_button(words: str) -> Button:
    """Make a button as tall as a finger is wide (44 px) and as long as its words."""
    return Button(
        description=words,
        layout=Layout(height="44px", width="fit-content", padding="0 16px", margin="4px 2px 8px"),
        style={
            "button_color": "#0b4f8a",
            "text_color": "#ffffff",
            "font_size": "16px",
            "font_weight": "600",
        },
    )
