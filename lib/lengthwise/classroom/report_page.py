"""A report as one page that holds everything in itself: it loads nothing and runs nothing.

Headings, tables with heads, pictures with their sentence; it reads on a phone and prints.
"""

from __future__ import annotations

import base64
import html
import math
import re
from dataclasses import dataclass

from lengthwise.marking.sheet import Sheet

UNKNOWN = "–"
"""Stands where a figure cannot be worked out."""

SHORT_ROWS = 10
"""A table of so many rows is not cut by the end of a printed page."""

MEDICAL_NOTE = (
    "A teaching simulation, not a medical device. Decisions belong to a licensed practitioner "
    "under local rules; students work under supervision."
)

_LONG_WORDS = 30
_FIGURE = re.compile(r"(less than |more than )?[+−-]?\d")
_MOST_COLUMNS = 12

_HEAD = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; \
style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex">
"""
_STYLE = """
.lw-report { color: #1a1a1a; background: #fff; line-height: 1.5; max-width: 60rem;
  overflow-wrap: break-word; }
.lw-report h2 { border-top: 1px solid #767676; padding-top: 0.6em; margin-top: 2em; }
.lw-report p, .lw-report li { max-width: 44rem; }
/* The shadow at an edge says that a wide table goes on there: the first two layers move with the
   table and cover it at its ends. */
.lw-report .lw-scroll { overflow-x: auto; margin: 1em 0; background:
  linear-gradient(to right, #fff 50%, #fff0) left / 48px 100% no-repeat local,
  linear-gradient(to left, #fff 50%, #fff0) right / 48px 100% no-repeat local,
  linear-gradient(to right, #0007, #0000) left / 12px 100% no-repeat scroll,
  linear-gradient(to left, #0007, #0000) right / 12px 100% no-repeat scroll; }
.lw-report table { border-collapse: collapse; font-variant-numeric: tabular-nums; }
.lw-report caption { text-align: left; color: #333; padding-bottom: 0.3em; }
.lw-report th, .lw-report td { padding: 0.25em 0.9em 0.25em 0; border-bottom: 1px solid #ccc;
  text-align: right; vertical-align: top; }
.lw-report thead th { border-bottom: 2px solid #555; vertical-align: bottom; }
.lw-report th:first-child { text-align: left; }
.lw-report tbody th { font-weight: 400; min-width: 6.5em; }
.lw-report td:not([style]) { white-space: nowrap; }
.lw-report td[style], .lw-report thead th[style]:not(:first-child) { padding-left: 0.6em; }
.lw-report figure { margin: 1.2em 0; }
.lw-report img { width: 27rem; max-width: 100%; height: auto; }
.lw-report figcaption { max-width: 34rem; color: #333; }
.lw-report a { color: #3d1ae2; }
@media print {
  .lw-report { max-width: none; font-size: 9.5pt; }
  .lw-report nav { display: none; }
  .lw-report .lw-scroll { overflow: visible; background: none; }
  .lw-report th, .lw-report td { padding-right: 0.6em; }
  .lw-report h2, .lw-report caption, .lw-report thead { break-after: avoid; }
  .lw-report thead { display: table-header-group; }
  .lw-report tr, .lw-report figure, .lw-report li, .lw-report .lw-short { break-inside: avoid; }
  .lw-report img { max-height: 20cm; width: auto; max-width: 10.5cm; }
}
"""
_STYLE += "".join(
    f".lw-report .lw-words-{n} tr > :nth-child({n}) {{ text-align: left; padding-left: 0.6em; }}\n"
    for n in range(2, _MOST_COLUMNS + 1)
)
_STYLE += "".join(
    f".lw-report .lw-long-{n} tr > :nth-child({n}) {{ min-width: {9 if n == 1 else 11}em; }}\n"
    for n in range(1, _MOST_COLUMNS + 1)
)
_PAGE_STYLE = """
html { font-family: system-ui, "Liberation Sans", Arial, sans-serif; }
body { margin: 1.2rem auto; padding: 0 1rem; max-width: 60rem; }
@page { size: A4; margin: 16mm 14mm; }
@media print { body { margin: 0; padding: 0; max-width: none; } }
"""


@dataclass(frozen=True)
class Picture:
    """A PNG with the sentence that says what it shows; the sentence is its text and its caption."""

    png: bytes
    sentence: str


@dataclass(frozen=True)
class Section:
    """A part of a report: its words, then its pictures and tables."""

    title: str
    words: tuple[str, ...] = ()
    shown: tuple[Sheet | Picture, ...] = ()


@dataclass(frozen=True)
class ReportPage:
    """A report. In a notebook it shows itself; `to_html` is a page to keep, send and print.

    Examples
    --------
    >>> page = ReportPage("A class", ("Two students.",), (Section("Marks", ("None yet.",)),))
    >>> page
    A class
    Two students.
    <BLANKLINE>
    Marks
    None yet.
    >>> "<script" in page.to_html() or "http:" in page.to_html()
    False
    """

    title: str
    opening: tuple[str, ...]
    sections: tuple[Section, ...]

    def to_html(self) -> str:
        """The whole page."""
        links = "".join(
            f'<li><a href="#{_anchor(one.title)}">{html.escape(one.title)}</a></li>'
            for one in self.sections
        )
        return (
            f"{_HEAD}<title>{html.escape(self.title)}</title>\n"
            f"<style>{_PAGE_STYLE}{_STYLE}</style>\n</head>\n<body>\n"
            f'<main class="lw-report">\n<h1>{html.escape(self.title)}</h1>\n'
            f"{_paragraphs(self.opening)}\n"
            f'<nav aria-label="Contents"><ul>{links}</ul></nav>\n'
            f"{self._sections()}\n<p>{html.escape(MEDICAL_NOTE)}</p>\n</main>\n</body>\n</html>\n"
        )

    def _repr_html_(self) -> str:
        return (
            f'<style>{_STYLE}</style><div class="lw-report">'
            f"<p><strong>{html.escape(self.title)}</strong></p>{_paragraphs(self.opening)}"
            f"{self._sections()}<p>{html.escape(MEDICAL_NOTE)}</p></div>"
        )

    def __repr__(self) -> str:
        blocks = ["\n".join([self.title, *self.opening])]
        for one in self.sections:
            blocks.append("\n".join([one.title, *one.words]))
            blocks += [
                each.sentence if isinstance(each, Picture) else repr(each) for each in one.shown
            ]
        return "\n\n".join(blocks)

    def _sections(self) -> str:
        return "\n".join(
            f'<section id="{_anchor(one.title)}"><h2>{html.escape(one.title)}</h2>'
            f"{_paragraphs(one.words)}{''.join(map(_shown, one.shown))}</section>"
            for one in self.sections
        )


def _anchor(title: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-")


def _paragraphs(words: tuple[str, ...]) -> str:
    return "".join(f"<p>{_unbroken(html.escape(one))}</p>" for one in words)


def _unbroken(text: str) -> str:
    """Text whose figures stay on one line with what they are figures of."""
    return re.sub(r"(\d) (%|mm\b)", r"\1&nbsp;\2", text)


def _shown(one: Sheet | Picture) -> str:
    if isinstance(one, Sheet):
        # A wide table scrolls in itself, and the keyboard can reach it to do so.
        short = " lw-short" if len(one.rows) <= SHORT_ROWS else ""
        return (
            f'<div class="lw-scroll{short}{_words(one)}" role="group" tabindex="0" '
            f'aria-label="{html.escape(one.caption)}">{one._repr_html_()}</div>'
        )
    data = base64.b64encode(one.png).decode("ascii")
    words = html.escape(one.sentence)
    return (
        f'<figure><img alt="{words}" src="data:image/png;base64,{data}">'
        f"<figcaption>{words}</figcaption></figure>"
    )


def _words(sheet: Sheet) -> str:
    """A class for each column that reads from the left, and one for each that needs room."""
    columns = range(len(sheet.heads))
    words = [
        f" lw-words-{column + 1}"
        for column in columns[1:]
        if not any(_FIGURE.match(row[column]) for row in sheet.rows)
    ]
    long = [
        f" lw-long-{column + 1}"
        for column in columns
        if any(len(row[column]) > _LONG_WORDS for row in sheet.rows)
    ]
    return "".join(words + long)


def figure_text(value: float | None, decimals: int = 2, *, sign: bool = False) -> str:
    """A figure as it is shown; a dash where there is none.

    >>> figure_text(-0.126, sign=True), figure_text(float("nan")), figure_text(3, 0)
    ('−0.13', '–', '3')
    """
    if value is None or not math.isfinite(value):
        return UNKNOWN
    text = f"{value:{'+' if sign else ''}.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("+-")
    return text.replace("-", "−")


def percent_text(share: float | None) -> str:
    """A share as a percentage; a dash where there is none.

    >>> percent_text(0.335), percent_text(None)
    ('34 %', '–')
    """
    return UNKNOWN if share is None or not math.isfinite(share) else f"{100 * share:.0f} %"


def range_text(low: float, high: float, decimals: int = 2) -> str:
    """Two ends; a dash where there are none.

    >>> range_text(-0.5, 0.25)
    '−0.50 to 0.25'
    """
    if not (math.isfinite(low) and math.isfinite(high)):
        return UNKNOWN
    return f"{figure_text(low, decimals)} to {figure_text(high, decimals)}"
