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
    "Sure? The next press puts this record aside, in a file beside it, and begins with Case 1; the "
    "case on the desk is left. To keep the record, press nothing."
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
    anew, said, anew_calls : pressed twice, it begins the record anew; what is said of that; called
        where it was done.
    widget : all of it, laid out; nothing is shown while nothing is kept.
    """

    record: PracticeRecord
    where: HTML
    anew: Button
    said: Spoken
    widget: VBox
    anew_calls: list[Callable[[], None]] = field(default_factory=list)

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": "Where the record of practice lies"}

    def begin_anew(self, _button: object = None) -> None:
        """Ask once; then put the record aside and begin another."""
        if self.said.text != SURE:
            self.said.text = SURE
            return
        try:
            aside = self.record.begin_anew()
        except OSError as error:
            # what is called would leave the case, in the very record that is somebody else's
            self.said.text = NOT_PUT_ASIDE.format(error.strerror, self.record.log.path)
            return
        self.said.text = f"Begun anew. What was kept before lies in {aside}." if aside else DONE
        for call in self.anew_calls:
            call()
        self.show()

    def show(self) -> None:
        """Take over what has been added to the record."""
        kept = bool(self.record.finished) or self.record.left is not None
        self.where.layout.display = self.anew.layout.display = "" if kept else "none"


def kept_panel(record: PracticeRecord) -> KeptPanel:
    """Say where a record lies, with a button that begins it anew."""
    where = HTML(
        '<p style="font-size: 16px; line-height: 1.5; overflow-wrap: anywhere">'
        f"{WHERE.format(html.escape(str(record.log.path)))}</p>"
    )
    anew, said = text_button("Begin anew"), Spoken()
    laid_out = VBox([where, anew, said], layout=Layout(width="100%"))
    panel = KeptPanel(record, where, anew, said, laid_out)
    anew.on_click(panel.begin_anew)
    panel.show()
    return panel
