"""How the parts of practice lie on the page, and what is let go of when a case makes room."""

from __future__ import annotations

from dataclasses import dataclass, field

from ipywidgets import HTML, Box, Button, Layout, VBox, Widget

from lengthwise.marking.practice_chair import Sitting
from lengthwise.panels.heading import Heading
from lengthwise.panels.practice_controls import Controls
from lengthwise.panels.practice_words import clock, record_sheet
from lengthwise.panels.spoken import Spoken


@dataclass(frozen=True)
class Parts:
    """What is shown of a case.

    Attributes
    ----------
    title, told : which case it is, and how it is given.
    happened, sentence, said : what came of the last action; the picture in words; what is said of
        an answer.
    frame, pictures, table : the time line; radiographs and traces; the record.
    after : what is shown when a case has been answered.
    """

    title: Heading = field(default_factory=Heading)
    told: Spoken = field(default_factory=Spoken)
    happened: Spoken = field(default_factory=Spoken)
    sentence: Spoken = field(default_factory=Spoken)
    said: Spoken = field(default_factory=Spoken)
    frame: VBox = field(default_factory=VBox)
    pictures: HTML = field(default_factory=HTML)
    table: HTML = field(default_factory=HTML)
    after: VBox = field(default_factory=VBox)


def laid_out(hands: Controls, parts: Parts) -> VBox:
    """Everything of a case: measuring beside the time line, pictures, the answer, what is after."""
    shown = VBox([parts.frame, parts.sentence], layout=Layout(flex="0 1 450px", min_width="0"))
    measuring = VBox(
        [head("Measure"), hands.action, hands.means, hands.limit, hands.length, hands.contact,
         hands.do, hands.warning, hands.do_anyway, parts.happened],
        layout=Layout(flex="1 1 300px", min_width="0"),
    )  # fmt: skip
    answering = VBox(
        [head("Answer"), hands.answer, hands.low, hands.high, hands.working_length, hands.commit,
         hands.doubt, hands.commit_anyway, parts.said, hands.next],
        layout=Layout(width="100%"),
    )  # fmt: skip
    both = Box(
        [measuring, shown], layout=Layout(display="flex", flex_flow="row wrap", grid_gap="0 20px")
    )
    return VBox(
        [parts.title, parts.told, both, parts.pictures, parts.table, answering, parts.after],
        layout=Layout(width="100%"),
    )


def head(words: str) -> HTML:
    """A heading inside a case."""
    return HTML(f'<h4 style="font-size: 17px; margin: 12px 2px 4px">{words}</h4>')


def folded(sitting: Sitting) -> str:
    """The record as a table, folded away."""
    sheet = record_sheet(sitting)._repr_html_()
    return (
        '<details style="font-size: 16px; line-height: 1.5"><summary>The record as a table. '
        f"{clock(sitting)}</summary>{sheet}</details>"
    )


def discard(box: VBox) -> None:
    """Let go of what a box holds, buttons aside: thousands of cases may follow."""
    for child in box.children:
        if not isinstance(child, Button):
            close_all(child)
    box.children = ()


def close_all(widget: Widget) -> None:
    """Close a widget with all that it holds, its layout and its style."""
    for child in getattr(widget, "children", ()):
        close_all(child)
    own = [getattr(widget, name, None) for name in ("layout", "style")]
    for part in (widget, *own):
        if isinstance(part, Widget):
            part.close()
