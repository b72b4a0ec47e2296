"""What the ruler panel says in words, and its table. Rounding happens here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lengthwise.evidence import Evidence
from lengthwise.marking.beliefs import implied_lengths_mm
from lengthwise.marking.sheet import Sheet
from lengthwise.reconciliation import Reconciliation, Source
from lengthwise.reconciliation.next_step import narrow_enough
from lengthwise.reconciliation.result_view import (
    DISBELIEVED,
    came_early,
    percent,
    place_mm,
    signed_mm,
)

_TABLE_CSS = """
.lengthwise-table { border-collapse: collapse; line-height: 1.4; font-size: 16px; }
.lengthwise-table caption { text-align: left; font-weight: 600; padding: 4px 2px; }
.lengthwise-table th, .lengthwise-table td {
  text-align: left; vertical-align: top; padding: 6px 6px 6px 2px; font-weight: 400;
}
.lengthwise-table thead th { font-weight: 600; border-bottom: 1px solid #6b6b6b; }
"""
KEEP, DISTRUST, DROP = "keep", "distrust", "drop"
LANDMARKS = {
    "average_length": "apex",
    "preoperative_film": "apex",
    "working_film": "apex",
    "electronic_reading": "signal",
    "point_trial": "tissue",
    "tactile_stop": "stop",
}
"""What each kind of source measures, in one word that fits into a picture."""


@dataclass(frozen=True)
class TableRow:
    """One source in the table, and what it says of the foramen by itself (mm)."""

    name: str
    kind: str
    alone_mm: float
    alone_sd_mm: float


def takes_a_length(result: Reconciliation) -> bool:
    """Tell whether a length may be taken at all; the verdict says if something is better.

    Asking `Reconciliation.working_length_mm` takes too long while a slider moves.
    """
    return not result.reasons_to_ask and narrow_enough(result.interval_mm())


def count_past(share: float) -> str:
    """Say a chance as a count out of a hundred.

    Examples
    --------
    >>> count_past(0.073), count_past(0.001), count_past(0.999)
    ('7 of 100', 'fewer than 1 of 100', 'more than 99 of 100')
    """
    if share < 0.01:
        return "fewer than 1 of 100"
    if share > 0.99:
        return "more than 99 of 100"
    return f"{share * 100:.0f} of 100"


def recommends_a_length(result: Reconciliation) -> bool:
    """Tell whether the verdict takes a length: it is narrow enough and nothing is better."""
    return takes_a_length(result) and result.working_length_mm is not None


def answer_words(result: Reconciliation, offered: bool) -> str:
    """Say how much of the answer the working length has passed, where one is offered."""
    if not takes_a_length(result):
        return "too wide to take a length"
    if not offered:
        return "another step comes first"
    return f"past the foramen in {count_past(result.probability_past(result.best_length_mm))}"


def plain_mean_mm(evidence: Evidence, sources: Sequence[Source]) -> float | None:
    """Give the mean (mm) of some sources, each taken at its word; None where none speaks.

    This is what a person works with who gives every source the same weight.
    """
    records = tuple(record for source in sources for record in source.records)
    lengths = implied_lengths_mm(evidence.model_copy(update={"records": records}))
    return sum(lengths.values()) / len(lengths) if lengths else None


def live_sentence(
    result: Reconciliation, mean_mm: float | None, set_aside: Sequence[str], offered: bool
) -> str:
    """Say where the canal ends, the length, the chance of being past, and the plain mean."""
    if result.reasons_to_ask:
        return f"Not with these sources: {'; '.join(result.reasons_to_ask)}. Ask."
    low, high = result.interval_mm()
    room = f"nine times in ten between {low:.1f} and {high:.1f} mm"
    if offered:
        past = count_past(result.probability_past(result.best_length_mm))
        said = (
            f"All together: the canal ends at {result.foramen_mm:.1f} mm, {room}. A working length "
            f"of {result.best_length_mm:.2f} mm would be past the foramen in {past}."
        )
    elif takes_a_length(result):
        said = f"All together: the canal ends {room}. No length yet: another step comes first."
    else:
        # A middle would be misleading here: there may be two humps and nothing between them.
        said = f"All together: the canal ends {room}. Too wide to take a length: not yet."
    if mean_mm is not None:
        said += f" The plain mean of the sources is {mean_mm:.1f} mm."
    return said + (f" Dropped: {', '.join(set_aside)}." if set_aside else "")


def doubts(result: Reconciliation, rows: Sequence[TableRow]) -> str:
    """Say which sources the others do not believe, and what to do next.

    Parameters
    ----------
    result
        The reconciliation of the sources that are not dropped.
    rows
        Every source of the case: a reading that was dropped may have come too early, too.
    """
    believed = {row.name: row.trust for row in result.sources}
    doubted = [
        f"{name} ({percent(trust)})" for name, trust in believed.items() if trust < DISBELIEVED
    ]
    set_aside = [
        (row.name, row.alone_mm)
        for row in rows
        if row.kind == "electronic_reading" and believed.get(row.name, 0.0) < DISBELIEVED
    ]
    parts = (
        f"Hardly believed: {', '.join(doubted)}." if doubted else "",
        came_early(set_aside, result.foramen_mm, result.interval_mm()),
        f"Next: {result.next_step.sentence}",
    )
    return " ".join(part for part in parts if part)


def table_html(result: Reconciliation, rows: Sequence[TableRow]) -> str:
    """Write the table of sources, with a caption and with row and column headers.

    Parameters
    ----------
    result
        The reconciliation of the sources that are not dropped.
    rows
        Every source of the case, dropped ones too.

    Returns
    -------
    str
        An HTML table.
    """
    weighed = {row.name: row for row in result.sources}
    lines = []
    for row in rows:
        judged = weighed.get(row.name)
        believed = percent(judged.trust) if judged else "dropped"
        shift = signed_mm(judged.shift_without_mm) if judged else "–"
        alone = place_mm(row.alone_mm, row.alone_sd_mm)
        lines.append((row.name, alone, believed, shift))
    heads = ("Source", "Foramen by it alone", "Believed", "Shift without it")
    caption = "What each source says, and what it does to the answer"
    return f"<style>{_TABLE_CSS}</style>{Sheet(caption, heads, tuple(lines))._repr_html_()}"
