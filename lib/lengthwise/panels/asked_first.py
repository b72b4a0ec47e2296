"""Answer first; only then the panel appears, in a cell of its own, below what to do with it.

Looking is easy to mistake for having known. Who has committed an answer before the picture is
shown can compare the two.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from ipywidgets import Button, VBox, Widget

from lengthwise.panels.check_items import CheckItem, text_button
from lengthwise.panels.slider import Slider
from lengthwise.panels.spoken import Spoken

SET_AND_COMMIT = (
    "Set the slider, then commit. The picture appears then, further down, below its tasks."
)
COMMITTED = "Committed"
NOT_MOVED = (
    "The slider still stands where it stood when you came. Move it to your own number first, even "
    "if you come back to this one; then commit."
)


class Panel(Protocol):
    """Anything with a widget that holds all of it."""

    @property
    def widget(self) -> Widget:
        """All of it, laid out."""
        ...


@dataclass(frozen=True)
class AskedFirst:
    """A question that has to be answered before the panel behind it appears."""

    question: CheckItem
    panel: Panel

    @property
    def widget(self) -> Widget:
        """The question, laid out."""
        return self.question.widget

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.question._repr_mimebundle_()["text/plain"]}


@dataclass(frozen=True)
class Guess:
    """A number to commit to, and the panel behind it.

    Attributes
    ----------
    number, button, answer
        What is guessed; commit; what is said about it.
    panel
        Hidden until then; a cell of its own shows it.
    widget
        The question, laid out.
    """

    number: Slider
    button: Button
    answer: Spoken
    panel: Panel
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.answer.text}


def ask_first(question: CheckItem, panel: Panel) -> AskedFirst:
    """Show the panel when an answer to the question has been committed, whichever it is."""
    hide(panel)

    def committed(_button: object) -> None:
        if question.answers.value:
            reveal(panel)

    question.button.on_click(committed)
    return AskedFirst(question, panel)


def guess(number: Slider, compared: Callable[[float], str], panel: Panel) -> Guess:
    """Ask for a number; when it is committed, compare it and show the panel.

    Parameters
    ----------
    number
        The slider to guess with.
    compared
        Gives the words about a guess; never just right or wrong.
    panel
        Hidden until then.

    Examples
    --------
    >>> from lengthwise.panels.slider import slider
    >>> behind = slider("Behind it", value=1, low=0, high=2, step=1)
    >>> class Picture:
    ...     widget = VBox([behind])
    >>> asked = guess(slider("How many", value=3, low=0, high=9, step=1, unit=""),
    ...               lambda said: f"You said {said:g}; it is 7.", Picture())
    >>> asked.button.click()
    >>> asked.answer.text[:24]
    'The slider still stands '
    >>> asked.number.value = 4
    >>> asked.button.click()
    >>> asked.answer.text
    'You said 4; it is 7.'
    """
    button, answer = text_button("Commit my number"), Spoken(text=SET_AND_COMMIT)
    hide(panel)

    def commit(_button: object) -> None:
        if not number.touched:
            answer.say(NOT_MOVED)
            return
        answer.say(compared(number.value))
        # A button that is taken away takes the focus of the keyboard along. This one stays.
        number.disabled, button.description = True, COMMITTED
        reveal(panel)

    def chosen(_change: object) -> None:
        if answer.text == NOT_MOVED:
            answer.text = SET_AND_COMMIT

    number.observe(chosen, "touched")
    button.on_click(commit)
    return Guess(number, button, answer, panel, VBox([number, button, answer]))


def hide(panel: Panel) -> None:
    """Keep a panel out of sight until `reveal`."""
    panel.widget.layout.display = "none"


def reveal(panel: Panel) -> None:
    """Show a panel that was hidden."""
    panel.widget.layout.display = ""
