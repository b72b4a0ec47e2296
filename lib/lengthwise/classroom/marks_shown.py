"""The marks of a class on the screen, as many as fit."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.measure import Measurement
from rich.table import Column, Table
from rich.text import Text

from lengthwise.classroom.marks_table import MarksTable

_ANY_WIDTH = 10_000


def marks_shown(table: MarksTable, console: Console) -> Table:
    """Every mark in a table; only the totals where the window is too narrow for more.

    Who has no marks stands in one sentence under it, so that no word widens the table. A mark
    that is cut off would be read as another one.
    """
    heads = ("student", *table.maxima, "total", "by hand")
    rows = [table.shown(row) for row in table.rows]
    whole = _table(heads, rows, table.notes)
    options = console.options.update(max_width=_ANY_WIDTH)
    if Measurement.get(console, options, whole).maximum <= console.width:
        return whole
    return _table(
        ("student", *heads[-2:]),
        [(row[0], *row[-2:]) for row in rows],
        ("Too wide for this window; the file has every mark.", *table.notes),
    )


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]], notes: Sequence[str]) -> Table:
    columns = (Column(head, no_wrap=head != "by hand") for head in heads)
    table = Table(*columns, box=None, padding=(0, 1), caption_justify="left")
    table.caption = Text("\n".join(notes)) if notes else None
    for row in rows:
        table.add_row(*map(Text, row))
    return table
