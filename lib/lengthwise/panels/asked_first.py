"""Answer first; only then the panel appears, in a cell of its own, below what to do with it.

Looking is easy to mistake for having known. Who has committed an answer before the picture is
shown can compare the two.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from ipywidgets import Button, Layout, VBox, Widget

from lengthwise.panels.check_items import CheckItem, text_button
from lengthwise.panels.slider import Slider
from lengthwise.panels.spoken import Spoken

SET_AND_COMMIT = (
    "Set the slider, then commit. The picture appears then, further down, below its tasks."
)
COMMITTED = "Committed"
STANDS_HERE = (
    "The picture appears here once you have committed an answer above. Was this page loaded again? "
    "Then commit once more."
)
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
class Behind:
    """A panel out of sight, with a sentence in its place until it is revealed.

    Attributes
    ----------
    panel, place
        The panel; the sentence.
    widget
        Both, laid out.
    """

    panel: Panel
    place: Spoken
    widget: VBox

    def reveal(self) -> None:
        """Show the panel in place of the sentence."""
        self.place.text, self.panel.widget.layout.display = "", ""

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.place.text}


@dataclass(frozen=True)
class AskedFirst:
    """A question that has to be answered before the panel behind it appears."""

    question: CheckItem
    panel: Panel
    behind: Behind

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
    panel, behind
        Hidden until then; a cell of its own shows it in its place.
    widget
        The question, laid out.
    """

    number: Slider
    button: Button
    answer: Spoken
    panel: Panel
    behind: Behind
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.answer.text}


def ask_first(question: CheckItem, panel: Panel) -> AskedFirst:
    """Show the panel when an answer to the question has been committed, whichever it is."""
    behind = hide(panel)

    def committed(_button: object) -> None:
        if question.answers.value:
            behind.reveal()

    question.button.on_click(committed)
    return AskedFirst(question, panel, behind)


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
    behind = hide(panel)

    def commit(_button: object) -> None:
        if not number.touched:
            answer.say(NOT_MOVED)
            return
        answer.say(compared(number.value))
        # A button that is taken away takes the focus of the keyboard along. This one stays.
        number.disabled, button.description = True, COMMITTED
        behind.reveal()

    def chosen(_change: object) -> None:
        if answer.text == NOT_MOVED:
            answer.text = SET_AND_COMMIT

    number.observe(chosen, "touched")
    button.on_click(commit)
    return Guess(number, button, answer, panel, behind, VBox([number, button, answer]))


def hide(panel: Panel) -> Behind:
    """Keep a panel out of sight until it is revealed.

    Examples
    --------
    >>> class Picture:
    ...     widget = VBox()
    >>> behind = hide(Picture())
    >>> behind.place.text[:24], behind.panel.widget.layout.display
    ('The picture appears here', 'none')
    >>> behind.reveal()
    >>> behind.place.text, behind.panel.widget.layout.display
    ('', '')
    """
    panel.widget.layout.display = "none"
    place = Spoken(text=STANDS_HERE)
    return Behind(panel, place, VBox([place, panel.widget], layout=Layout(width="100%")))
