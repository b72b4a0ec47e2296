"""The authoring page: say what a case should show, draw it, see what it does, keep it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

from ipywidgets import HTML, BoundedIntText, Box, Button, Layout, Text, VBox

from lengthwise.marking.authored_cases import CHOICES, NoSuchCaseError, Wish, author_case
from lengthwise.marking.graded_case import GradedCase
from lengthwise.panels.authoring_words import beliefs_sheet, beliefs_words, truth_words
from lengthwise.panels.check_items import text_button
from lengthwise.panels.choice import Choice, choice
from lengthwise.panels.practice_layout import discard
from lengthwise.panels.ruler_panel import ruler_panel
from lengthwise.panels.slider import Slider, slider
from lengthwise.panels.spoken import Spoken
from lengthwise.reconciliation import reconcile

LABELS = {
    "place": "Tooth (FDI) and canal",
    "length": "Its length",
    "reading": "Electronic reading",
    "file_film": "Radiograph with a file",
    "points": "Paper points",
    "reference": "Reference point",
}
START = "Choose what the case should show, then press Draw. Nothing is kept until you keep it."
DRAWING = "Canals are drawn until one shows this. It may take some seconds."
DRAW_FIRST = "Draw a case first: there is nothing to keep yet."
HIGHEST_NUMBER = 999_999
_FIELD = "lengthwise-field"
_FIELD_CSS = f"""<style>
.{_FIELD}.widget-inline-hbox {{ flex-direction: column; align-items: flex-start; }}
.{_FIELD} .widget-label {{
  width: auto; text-align: left; font-size: 16px; font-weight: 600; overflow: visible;
}}
.{_FIELD} input {{
  flex: 0 0 auto; width: 280px; max-width: 100%; height: 44px !important;
  font-size: 16px !important;
}}
</style>"""
"""The stock fields are small, and their labels stand beside them where a phone has no room."""


class View(Protocol):
    """A case as a student sees it."""

    def _repr_html_(self) -> str: ...


ViewOf = Callable[[str, GradedCase], View]
"""The name of a case, and the case, to what a student sees."""
Keep = Callable[[str, Wish, int, GradedCase], str]
"""Name, wish, number and case to a sentence that says what came of keeping it."""


@dataclass(frozen=True)
class Drawn:
    """The case on show, and what it was drawn from."""

    wish: Wish
    number: int
    case: GradedCase


@dataclass
class AuthoringPanel:
    """The page. `drawn` changes; everything else is laid out once.

    Attributes
    ----------
    wishes
        What can be chosen, by field of `Wish`.
    target, number
        The school's target distance (mm); the number that a case is drawn from.
    draw, again
        Draw from this number; draw from the next one.
    said, shown
        What came of it, and the case with everything that is said of it.
    name, keep, kept
        What the case is called, the button, and what came of keeping it.
    drawn
        The case on show; None before the first one, and where none was found.
    """

    view: ViewOf
    keep_case: Keep
    wishes: dict[str, Choice]
    target: Slider
    number: BoundedIntText
    draw: Button
    again: Button
    said: Spoken
    shown: VBox
    name: Text
    keep: Button
    kept: Spoken
    widget: VBox
    drawn: Drawn | None = None

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": self.said.text}

    def draw_this(self, _button: object = None) -> None:
        """Draw the case of the number, and show it."""
        self.said.text, self.kept.text, self.drawn = DRAWING, "", None
        discard(self.shown)
        wish = Wish(**{name: control.value for name, control in self.wishes.items()})
        number = int(self.number.value)
        try:
            case = author_case(wish, number, self.target.value)
        except NoSuchCaseError as error:
            self.said.text = str(error)
            return
        self.drawn = Drawn(wish, number, case)
        self.shown.children = self._about(case)
        self.said.text = f"Case {number}: {wish.words}."

    def draw_next(self, _button: object = None) -> None:
        """Draw the case of the next number."""
        self.number.value = min(self.number.value + 1, HIGHEST_NUMBER)
        self.draw_this()

    def keep_this(self, _button: object = None) -> None:
        """Keep the case on show."""
        if self.drawn is None:
            self.kept.say(DRAW_FIRST)
            return
        drawn = self.drawn
        self.kept.say(self.keep_case(self.name.value, drawn.wish, drawn.number, drawn.case))

    def _about(self, case: GradedCase) -> list[Any]:
        result = reconcile(case.evidence, target_mm=case.target_mm)
        ruler = ruler_panel(
            case.evidence, moves="preoperative film", target_mm=case.target_mm
        ).widget
        return [
            _heading("What the student sees"),
            HTML(self.view("of your own", case)._repr_html_()),
            _heading("What is right"),
            Spoken(text=truth_words(case, result)),
            _heading("The sources on one ruler"),
            Spoken(text="Drop a source to see the case without its trap."),
            ruler,
            _heading("What each misconception would answer"),
            HTML(beliefs_sheet(result)._repr_html_()),
            Spoken(text=beliefs_words(result)),
        ]


def authoring_panel(view: ViewOf, keep: Keep) -> AuthoringPanel:
    """Make the authoring page.

    Parameters
    ----------
    view
        Shows a case as a student will see it.
    keep
        Keeps a case; it says so, or says why not.

    Returns
    -------
    AuthoringPanel
        Display it as the last value of a cell.

    Examples
    --------
    >>> page = authoring_panel(lambda name, case: HTML(), lambda *kept: f"Kept {kept[0]}.")
    >>> page.keep_this()
    >>> page.kept.text
    'Draw a case first: there is nothing to keep yet.'
    """
    asked = Wish()
    wishes = {
        name: choice(LABELS[name], options, value=getattr(asked, name), arrangement="row")
        for name, options in CHOICES.items()
    }
    target = slider(
        "Working length short of the foramen by", value=0.5, low=0.0, high=2.0, step=0.25, unit="mm"
    )
    number = _field(BoundedIntText, "Number of the case", value=1, min=0, max=HIGHEST_NUMBER)
    name = _field(Text, "Name of the case", value="", placeholder="such as early_reading")
    draw, again, keep_it = map(text_button, ("Draw", "Draw again: the next number", "Keep it"))
    said, shown, kept = Spoken(text=START), VBox(), Spoken()
    widget = VBox([
        HTML(_FIELD_CSS), _heading("What the case should show"), *wishes.values(), target, number,
        _row(draw, again), said, shown,
        _heading("Keep it"), name, keep_it, kept,
    ])  # fmt: skip
    panel = AuthoringPanel(
        view, keep, wishes, target, number, draw, again, said, shown, name, keep_it, kept, widget
    )
    draw.on_click(panel.draw_this)
    again.on_click(panel.draw_next)
    keep_it.on_click(panel.keep_this)
    return panel


def _field(kind: Callable[..., Any], label: str, **start: Any) -> Any:
    made = kind(description=label, layout=Layout(width="auto", height="auto"), **start)
    return made.add_class(_FIELD)


def _row(*parts: Button) -> Box:
    return Box(parts, layout=Layout(display="flex", flex_flow="row wrap"))


def _heading(words: str) -> HTML:
    return HTML(f'<h3 style="font-size: 18px; margin: 12px 2px 4px">{words}</h3>')
