"""A table to read: in a browser with heads that a screen reader finds, elsewhere as columns."""

import html
from dataclasses import dataclass

LONG_CHARS = 16
"""A column with a longer cell is words, and reads from the left; Jupyter sets cells right."""


@dataclass(frozen=True)
class Sheet:
    """A table: caption, heads of the columns, rows, all text.

    Examples
    --------
    >>> Sheet("Lengths", ("tooth", "length"), (("13", "26.4 mm"), ("33", "25.9 mm")))
    Lengths
      tooth  length
      13     26.4 mm
      33     25.9 mm
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def _repr_html_(self) -> str:
        left = [
            ' style="text-align: left"'
            if any(len(row[i]) > LONG_CHARS for row in self.rows)
            else ""
            for i in range(len(self.heads))
        ]
        heads = "".join(
            f'<th scope="col"{style}>{html.escape(head)}</th>'
            for head, style in zip(self.heads, left, strict=True)
        )
        body = "".join(f"<tr>{_row_html(row, left)}</tr>" for row in self.rows)
        return (
            '<table class="lengthwise-table"><caption style="text-align: left">'
            f"{html.escape(self.caption)}</caption>"
            f"<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"
        )

    def __repr__(self) -> str:
        lines = [self.heads, *self.rows]
        widths = [max(len(line[column]) for line in lines) for column in range(len(self.heads))]
        padded = (
            "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
            for line in lines
        )
        return "\n".join([self.caption, *(f"  {line}" for line in padded)])


def _row_html(row: tuple[str, ...], styles: list[str]) -> str:
    (first, *rest), (style, *styled) = (html.escape(cell) for cell in row), styles
    cells = "".join(f"<td{one}>{cell}</td>" for cell, one in zip(rest, styled, strict=True))
    return f'<th scope="row"{style}>{first}</th>{cells}'
