"""What a lesson shows, standing still: plain HTML that needs no kernel, no script, no network.

A panel becomes its picture with its sentence and a table of its numbers; a question becomes text
whose answers are folded, each opened by itself, so that one can still answer before one looks.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import singledispatch
from typing import Any

from ipywidgets import HTML, Box, Button, Widget

from lengthwise.marking.sheet import Sheet
from lengthwise.panels.asked_first import AskedFirst, Behind, Guess
from lengthwise.panels.check_items import CheckItem, said_of
from lengthwise.panels.choice import Choice
from lengthwise.panels.folded import Folded
from lengthwise.panels.picture_numbers import numbers_of
from lengthwise.panels.prediction import Prediction
from lengthwise.panels.slider import Slider

GUESSES = 4
"""Of a number that is to be guessed, so many guesses are answered, evenly over the slider."""

MANY_COLUMNS = 4
"""A table with fewer columns fits a phone; a place to stop at with the Tab key costs a press."""

HALF_WIDTHS_MM = (0.3, 1.0, 2.5)
"""Of an interval that is to be given, these are answered: half a width around the middle."""


def panel_of(shown: Any) -> Any:
    """Give the panel behind a question, or what is itself one."""
    return getattr(shown, "panel", shown)


def set_by_hand(panel: Any, steps: Iterable[Sequence[Any]]) -> None:
    """Do with a panel what a hand would do, step by step.

    Parameters
    ----------
    panel
        The panel. A control is named by the panel's attribute, or by the label that one sees.
    steps
        ``[control, value]`` sets a slider or chooses; ``[control]`` presses a button.

    Raises
    ------
    ValueError
        If there is no such control, or it does not take the value.

    Examples
    --------
    >>> from lengthwise.panels.landmarks_panel import landmarks_panel
    >>> panel = landmarks_panel()
    >>> set_by_hand(panel, [["place", 10]])
    >>> panel.place.value
    10.0
    """
    for name, *values in steps:
        control = getattr(panel, str(name), None) or _labelled(panel, str(name))
        if values and isinstance(control, Slider | Choice):
            control.value = values[0]
            if isinstance(control, Slider):
                control.settled = values[0]
            if control.value != values[0]:
                raise ValueError(
                    f"field {name}: got {values[0]!r}, and it stands at {control.value!r}; give a "
                    "value that the control offers."
                )
        elif not values and isinstance(control, Button):
            control.click()
        else:
            raise ValueError(
                f"field {name}: got no control of this panel that takes {values or 'a press'}; "
                f"name one of its attributes, such as {', '.join(_controls(panel))}."
            )


def _labelled(panel: Any, label: str) -> Any:
    found = (one for one in _of_kind(panel.widget, (Slider, Choice)) if one.label == label)
    return next(found, None)


def _controls(panel: Any) -> list[str]:
    return [name for name, one in vars(panel).items() if isinstance(one, Slider | Choice | Button)]


def stands(panel: Any) -> list[tuple[Any, Any]]:
    """Give every slider and choice of a panel with where it stands, for `put_back`."""
    return [(one, one.value) for one in _of_kind(panel.widget, (Slider, Choice))]


def put_back(stood: list[tuple[Any, Any]]) -> None:
    """Set controls to where they stood."""
    for control, value in stood:
        if control.value != value:
            control.value = value
        if isinstance(control, Slider):
            control.settled = value


@singledispatch
def still(shown: Any) -> str:
    """Turn the value of a lesson's cell into plain HTML.

    Examples
    --------
    >>> still(Sheet("Lengths", ("tooth", "length"), (("13", "26.4 mm"),)))[:22]
    '<div class="scrolls"><'
    """
    if hasattr(shown, "picture") and hasattr(shown, "sentence"):
        return panel_html(shown, start=True)
    return scrolling(shown._repr_html_())


@still.register
def _unfolded(shown: Folded) -> str:
    return still(shown.sheet)


@still.register
def _asked_first(shown: AskedFirst) -> str:
    return still(shown.question)


@still.register
def _behind(shown: Behind) -> str:
    return still(shown.panel)


@still.register
def _check(shown: CheckItem) -> str:
    return _question(shown.item.stem, ((one.text, said_of(one)) for one in shown.item.options))


@still.register
def _guess(shown: Guess) -> str:
    number = shown.number
    share = [(place + 0.5) / GUESSES for place in range(GUESSES)]
    guesses = [number.min + one * (number.max - number.min) for one in share]
    rounded = [number.min + round((one - number.min) / number.step) * number.step
               for one in guesses]  # fmt: skip

    def say(value: float) -> tuple[str, str]:
        number.value, number.touched = value, True
        shown.button.click()
        return f"{number.label}: {_in_words(number)}", shown.answer.text

    question = f"{number.label} … ({_range(number)})"
    return _question(question, map(say, rounded))


@still.register
def _prediction(shown: Prediction) -> str:
    low, high = shown.low, shown.high
    middle = (low.value + high.value) / 2

    def say(half_mm: float) -> tuple[str, str]:
        low.value, high.value = round(middle - half_mm, 1), round(middle + half_mm, 1)
        shown.button.click()
        return f"{low.value:.1f} to {high.value:.1f} mm", shown.answer.text

    question = f"{low.label} … {high.label} …"
    return _question(question, map(say, HALF_WIDTHS_MM))


def _question(question: str, answered: Iterable[tuple[str, str]]) -> str:
    answers = "".join(f"<li>{_folded(*one)}</li>" for one in answered)
    asked = f"<p><strong>{html.escape(question)}</strong></p>"
    return f'{asked}<ul class="answers" role="list">{answers}</ul>'


def _folded(summary: str, inside: str) -> str:
    return folded_html(summary, f"<p>{html.escape(inside)}</p>")


def folded_html(summary: str, inside: str) -> str:
    """HTML that opens when its summary is pressed, which is plain text."""
    return f"<details><summary>{html.escape(summary)}</summary>{inside}</details>"


def panel_html(panel: Any, *, start: bool) -> str:
    """Show a panel as it stands: its picture, its sentence, its numbers.

    Parameters
    ----------
    panel
        A panel with ``picture``, ``sentence`` and ``widget``.
    start
        Whether the table of its controls is shown before it.

    Returns
    -------
    str
        A figure and its tables.
    """
    picture = re.sub(r' style="[^"]*"', "", panel.picture.live.widget.value, count=1)
    words = html.escape(panel.sentence.text)
    # The picture's own text is the same sentence, and nobody wants to hear it twice.
    caption = f'<figcaption aria-hidden="true">{words}</figcaption>'
    parts = [f"<figure>{picture}{caption}</figure>"]
    if start:
        parts.insert(0, scrolling(_hands(panel)._repr_html_()))
    numbers = numbers_of(panel)
    if numbers is not None:
        parts.append(scrolling(numbers._repr_html_()))
    parts += [scrolling(own) for own in _own_tables(panel.widget)]
    return "".join(parts)


def _hands(panel: Any) -> Sheet:
    """What a hand can set in a panel, and where it stands."""
    rows = tuple(
        (control.label.replace("\n", " "), _in_words(control), _range(control))
        for control in _of_kind(panel.widget, (Slider, Choice))
        if control.value != ""
    )
    return Sheet("The controls of this picture", ("Control", "Stands at", "Can be"), rows)


def _in_words(control: Any) -> str:
    if isinstance(control, Choice):
        return str(control.value)
    return str(control.in_words(control.value))


def _range(control: Any) -> str:
    if isinstance(control, Choice):
        return "; ".join(control.options)
    if control.sides:
        return f"{control.in_words(control.min)} to {control.in_words(control.max)}"
    return f"{control.min:g} to {control.max:g} {control.unit}".strip()


def _own_tables(widget: Widget) -> Iterator[str]:
    for one in _of_kind(widget, (HTML,)):
        yield from re.findall(r"<table.*?</table>", one.value, re.DOTALL)


def _of_kind(widget: Widget, kinds: tuple[type, ...]) -> Iterator[Any]:
    """The widgets of these kinds, in the order in which a page shows them."""
    if isinstance(widget, kinds):
        yield widget
    if isinstance(widget, Box):
        for child in widget.children:
            yield from _of_kind(child, kinds)


def scrolling(table: str) -> str:
    """Let a table with many columns scroll by itself, by keyboard too; the rest stays as it is."""
    caption = re.search(r"<caption[^>]*>(.*?)</caption>", table)
    if caption is None:
        return table
    if table.count('scope="col"') < MANY_COLUMNS:
        return f'<div class="scrolls">{table}</div>'
    return f'<div class="scrolls" tabindex="0" role="group" aria-label="{caption[1]}">{table}</div>'
