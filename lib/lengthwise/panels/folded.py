"""A table for whoever wants the figures: folded on a page, whole everywhere else."""

from __future__ import annotations

import html
from dataclasses import dataclass

from lengthwise.marking.sheet import Sheet


@dataclass(frozen=True)
class Folded:
    """A table that opens by a click or by keyboard; its text is the table's.

    Examples
    --------
    >>> Folded(Sheet("Lengths", ("tooth", "length"), (("13", "26.4 mm"),)))
    Lengths
      tooth  length
      13     26.4 mm
    """

    sheet: Sheet

    def __repr__(self) -> str:
        return repr(self.sheet)

    def _repr_html_(self) -> str:
        words = html.escape(self.sheet.caption)
        return (
            '<details><summary style="padding: 8px 0; cursor: pointer">The figures: '
            f"{words[:1].lower()}{words[1:]}</summary>{self.sheet._repr_html_()}</details>"
        )
