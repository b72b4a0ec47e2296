"""Where the record of practice lies, and how it is begun anew."""

from __future__ import annotations

import html
from dataclasses import dataclass
from typing import Any

from ipywidgets import HTML, Layout, VBox

from lengthwise.marking.practice_record import PracticeRecord
from lengthwise.panels.begin_anew import NOT_YOURS, BeginAnew, begin_anew

SURE = (
    "Sure? The button below puts this record aside, in a file beside it, and begins with Case 1; "
    "the case on the desk is left. To keep the record, press nothing."
)
UNCHANGED = "It stays where it lies, and the case on the desk stays, too."
WHERE = "The record is {}. It lies with your own files and is sent nowhere. " + NOT_YOURS


@dataclass(frozen=True)
class KeptPanel:
    """The panel.

    Attributes
    ----------
    where : the sentence that says where the record lies.
    again : begins the record anew.
    widget : all of it, laid out; nothing is shown while nothing is kept.
    """

    record: PracticeRecord
    where: HTML
    again: BeginAnew
    widget: VBox

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        bundle = self.widget._repr_mimebundle_(**kwargs)
        return {**bundle, "text/plain": "Where the record of practice lies"}

    def show(self) -> None:
        """Take over what has been added to the record; what was asked before is asked no more."""
        some = self.record.finished or self.record.torn or self.record.left is not None
        kept = bool(some)
        self.where.layout.display = "" if kept else "none"
        self.again.show(kept)


def kept_panel(record: PracticeRecord) -> KeptPanel:
    """Say where a record lies, with a button that begins it anew."""
    where = HTML(
        '<p style="font-size: 16px; line-height: 1.5; overflow-wrap: anywhere">'
        f"{WHERE.format(html.escape(str(record.log.path)))}</p>"
    )
    again = begin_anew(record.begin_anew, record.log.path, SURE, UNCHANGED)
    panel = KeptPanel(
        record, where, again, VBox([where, again.widget], layout=Layout(width="100%"))
    )
    again.calls.append(panel.show)
    panel.show()
    return panel
