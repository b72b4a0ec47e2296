"""How practice is going, as tables. Rounding happens here."""

from __future__ import annotations

from lengthwise.marking.misconceptions import MISCONCEPTIONS
from lengthwise.marking.practice_progress import beliefs_over_time, blocks_of, summarised
from lengthwise.marking.practice_record import PracticeRecord
from lengthwise.marking.sheet import Sheet


def progress_sheet(record: PracticeRecord) -> Sheet:
    """Ten cases a row: marks, error, bias, coverage, width, time."""
    rows = []
    for first, cases in blocks_of(record.finished):
        some = summarised(cases)
        rows.append(
            (
                _numbers(first, len(cases)), f"{100 * some.share:.0f}",
                _mm(some.error_mm), signed(some.bias_mm), _share(some.covered),
                _mm(some.width_mm), f"{some.minutes:.0f}", f"{some.exposures:.1f}",
            )
        )  # fmt: skip
    heads = ("cases", "of 100", "off (mm)", "bias (mm)", "covered", "wide (mm)", "minutes",
             "films")  # fmt: skip
    return Sheet("Ten cases at a time", heads, tuple(rows))


def looks_sheet(record: PracticeRecord) -> Sheet:
    """What the answers of ten cases look like, a row for each ten that look like something."""
    named = zip(blocks_of(record.finished), beliefs_over_time(record.finished), strict=True)
    rows = tuple(
        (_numbers(first, len(cases)), f"{one}: {MISCONCEPTIONS[one].belief}")
        for (first, cases), beliefs in named
        for one in beliefs
    )
    return Sheet("What your answers look like", ("cases", "look as if"), rows)


def tables_html(record: PracticeRecord) -> str:
    """Both tables; the wide one scrolls by itself."""
    looks = looks_sheet(record)
    # Words stand below: beside eight columns of numbers nobody would find them on a phone.
    words = looks._repr_html_() if looks.rows else ""
    return _SCROLLS.format(progress_sheet(record)._repr_html_()) + words


# A shadow at an edge says that the table goes on there: the first two layers move with it and
# cover the shadows at its ends, as in the pages.
_SCROLLS = (
    '<div tabindex="0" role="region" aria-label="Ten cases at a time" style="overflow-x: auto; '
    # Its own width counts for nothing: else the page around it would scroll instead.
    "contain: inline-size; background: "
    "linear-gradient(to right, #ffffff 50%, #ffffff00) left / 48px 100% no-repeat local, "
    "linear-gradient(to left, #ffffff 50%, #ffffff00) right / 48px 100% no-repeat local, "
    "linear-gradient(to right, #00000078, #00000000) left / 12px 100% no-repeat scroll, "
    'linear-gradient(to left, #00000078, #00000000) right / 12px 100% no-repeat scroll">{}</div>'
)


def _numbers(first: int, count: int) -> str:
    return str(first) if count == 1 else f"{first}–{first + count - 1}"


def _mm(value: float | None) -> str:
    return "–" if value is None else f"{value:.1f}"


def signed(value: float | None) -> str:
    """A number with its sign, and a dash for none.

    >>> signed(-0.42), signed(None)
    ('−0.4', '–')
    """
    return "–" if value is None else f"{value:+.1f}".replace("-", "−")


def _share(value: float | None) -> str:
    return "–" if value is None else f"{100 * value:.0f} %"
