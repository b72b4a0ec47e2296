"""When to stop and refer: one text, which the lessons show and the instructor's guide repeats."""

from __future__ import annotations

import html
from dataclasses import dataclass

FIRST = "Stop, and ask your supervisor or refer, when one of these is true:"
SIGNS = (
    "sources disagree by more than 1 mm after one repeat, and no third source of another kind "
    "settles which one to doubt",
    "the foramen signal comes suddenly, or at once, far too early",
    "a block or a ledge is not passed",
    "a perforation is suspected, or a point comes out wet on its side and dry at its tip",
    "the canal is not dry after two or three rounds, or it bleeds and the cause is not found",
    "the apex is open or resorbed",
    "the root is severely curved",
    "there are symptoms on irrigation, or sudden pain, swelling, heavy bleeding or altered "
    "sensation",
    "a nerve or the sinus is near: ask before anything goes to length",
    "the patient's health makes an error dangerous",
)


@dataclass(frozen=True)
class WhenToStop:
    """The signs, as a list.

    Examples
    --------
    >>> WhenToStop()._repr_html_()[:23]
    '<blockquote><p>Stop, an'
    """

    def __repr__(self) -> str:
        return "\n".join([FIRST, *(f"- {sign}" for sign in SIGNS)])

    def _repr_html_(self) -> str:
        signs = "".join(f"<li>{html.escape(sign)}</li>" for sign in SIGNS)
        return f"<blockquote><p>{html.escape(FIRST)}</p><ul>{signs}</ul></blockquote>"
