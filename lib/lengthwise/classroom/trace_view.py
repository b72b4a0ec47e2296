"""A reading's trace on show: its strip chart, and folded away under it the same in steps."""

from __future__ import annotations

import html
from dataclasses import dataclass

from lengthwise.evidence import ElectronicReading
from lengthwise.marking.sheet import Sheet
from lengthwise.marking.trace_picture import trace_picture
from lengthwise.marking.trace_steps import trace_sheet

WORDS = (
    "Strip chart: the indicated value against time, and under it the depth of the file. The table "
    "under it holds the same in steps."
)


@dataclass(frozen=True)
class TraceView:
    """A trace under its caption."""

    caption: str
    reading: ElectronicReading

    def _repr_html_(self) -> str:
        return (
            f"<p>{html.escape(self.caption)}.</p>\n"
            f'<img alt="{WORDS}" src="{trace_picture(self.reading)}" style="max-width: 100%">\n'
            f"<details><summary>Open the table: the same in steps</summary>"
            f"{trace_sheet(self.reading)._repr_html_()}</details>"
        )

    def __repr__(self) -> str:
        steps = trace_sheet(self.reading)
        return repr(Sheet(self.caption, steps.heads, steps.rows))
