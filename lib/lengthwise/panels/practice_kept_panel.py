"""Where the record of practice lies, and how it is begun anew."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from ipywidgets import HTML, Button, Layout, VBox

from lengthwise.marking.practice_record import PracticeRecord
from lengthwise.panels.check_items import text_button
from lengthwise.panels.spoken import Spoken

SURE = (
    "Sure? The button below puts this record aside, in a file beside it, and begins with Case 1; "
    "the case on the desk is left. To keep the record, press nothing."
)
DONE = "Begun anew."
NOT_PUT_ASIDE = (
    "It cannot be put aside ({}): {}. Nothing has changed, and the case on the desk stays. Close "
    "whatever has this file open, then press again."
)
WHERE = (
    "The record is {}. It lies with your own files and is sent nowhere. Whoever practises under "
    "the same login, in any copy of the course, adds to it. Is it not yours, or do you want a "
    "clean start? Begin anew."
)


@dataclass(frozen=True)
class KeptPanel:
    """The panel.

    Attributes
    ----------
    where : the sentence that says where the record lies.
    anew, said, sure, anew_calls : asks whether to begin the record anew; what is said of that; the
        button that does it, in another place, so that no double click does; called where it was
        done.
    widget : all of it, laid out; nothing is shown while nothing is kept.
    """

    record: PracticeRecord
    where: HTML
    anew: Button
    said: Spoken
    sure: Button
    widget: VBox
    anew_calls: list[Callable[[], None]] = field(default_factory=list)

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": "Where the record of practice lies"}

    def ask(self, _button: object = None) -> None:
        """Ask, however often this is pressed."""
        self.said.text, self.sure.layout.display = SURE, ""

    def begin_anew(self, _button: object = None) -> None:
        """Put the record aside and begin another."""
        try:
            aside = self.record.begin_anew()
        except OSError as error:
            # what is called would leave the case, in the very record that is somebody else's
            self.said.text = NOT_PUT_ASIDE.format(error.strerror, self.record.log.path)
            return
        for call in self.anew_calls:
            call()
        self.show()
        self.said.text = f"Begun anew. What was kept before lies in {aside}." if aside else DONE

    def show(self) -> None:
        """Take over what has been added to the record; what was asked before is asked no more."""
        self.said.text, self.sure.layout.display = "", "none"
        some = self.record.finished or self.record.torn or self.record.left is not None
        kept = bool(some)
        self.where.layout.display = self.anew.layout.display = "" if kept else "none"


def kept_panel(record: PracticeRecord) -> KeptPanel:
    """Say where a record lies, with a button that begins it anew."""
    where = HTML(
        '<p style="font-size: 16px; line-height: 1.5; overflow-wrap: anywhere">'
        f"{WHERE.format(html.escape(str(record.log.path)))}</p>"
    )
    anew, said, sure = text_button("Begin anew"), Spoken(), text_button("Put it aside, begin anew")
    laid_out = VBox([where, anew, said, sure], layout=Layout(width="100%"))
    panel = KeptPanel(record, where, anew, said, sure, laid_out)
    anew.on_click(panel.ask)
    sure.on_click(panel.begin_anew)
    panel.show()
    return panel
