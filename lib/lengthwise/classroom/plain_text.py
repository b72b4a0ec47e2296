"""What was typed, in plain keyboard signs.

Word processors, web pages, phones and other keyboards leave signs that look right and are not:
curly quotes, a true minus, full-width digits, spaces that do not break, HTML. Nothing here knows
what an answer means.
"""

from __future__ import annotations

import html
import re

QUOTES = "\"'`´‘’‚‛“”„‟«»‹›＂＇"
_SIGNS: dict[int, int | str] = {
    **{0xFF01 + place: 0x21 + place for place in range(94)},  # full-width
    **dict.fromkeys(map(ord, "\u00a0\u2007\u2009\u202f\u3000"), " "),
    **dict.fromkeys(map(ord, "−‐‑‒–—﹣"), "-"),
    **dict.fromkeys(map(ord, "‘’‚‛‹›"), "'"),
    **dict.fromkeys(map(ord, "“”„‟«»"), '"'),
    **dict.fromkeys(map(ord, "\u200b\u200c\u200d\u200e\u200f\u2060\ufeff\u00ad"), ""),
    ord("…"): "...",
    ord("×"): "*",
    ord("÷"): "/",
}
_TAG = re.compile(r"</?[A-Za-z][^<>]{0,200}>")
_NUMBER = r"\d+(?:[.,]\d+)?\s*(?:mm)?"
_RANGE = re.compile(rf"\s*{_NUMBER}\s*(?:[-–—]|to|and|or)\s*{_NUMBER}\s*", re.IGNORECASE)
_LONG_DASH_RANGE = re.compile(rf"\s*{_NUMBER}\s*[–—]\s*{_NUMBER}\s*")
_ID_LINE = re.compile(r"^\s*student_id\s*=(?!=)(.*)$", re.MULTILINE)
_ID = re.compile(r"[^\W_][^\"'()\[\]{}=]{0,59}")


def plain(text: str) -> str:
    """The text with signs from elsewhere turned into those of a keyboard.

    >>> plain("low_mm&nbsp;= <b>２４.５</b>"), plain("−0,5\u00a0mm"), plain("“B”")
    ('low_mm = 24.5', '-0,5 mm', '"B"')
    """
    return _TAG.sub("", html.unescape(text)).translate(_SIGNS)


def is_range(text: str) -> bool:
    """Whether two numbers were typed where one is asked for.

    >>> is_range("25-26"), is_range("25 to 26 mm"), is_range("-25"), is_range("25.5")
    (True, True, False, False)
    """
    return _RANGE.fullmatch(text) is not None


def is_long_dash_range(text: str) -> bool:
    """Whether a long dash stands between two numbers, which no calculation has.

    >>> is_long_dash_range("25–26"), is_long_dash_range("25 - 26")
    (True, False)
    """
    return _LONG_DASH_RANGE.fullmatch(text) is not None


def id_in(source: str) -> str | None:
    r"""The student id typed in a cell, with or without quotes, or None. Read, never run.

    >>> id_in('student_id = "student-01"'), id_in("student_id = student-01  # mine")
    ('student-01', 'student-01')
    >>> id_in("student_id = ..."), id_in("student_id = open('x').read()")
    (None, None)
    """
    lines = _ID_LINE.findall(plain(source))
    if not lines:
        return None
    typed = lines[-1].split("#")[0].strip().rstrip(";").strip(QUOTES + " \t\r")
    return typed if _ID.fullmatch(typed) else None
