"""What the ruler panel says in words, and its table. Rounding happens here."""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass

from lengthwise.reconciliation import Reconciliation
from lengthwise.reconciliation.next_step import choose_next_step
from lengthwise.reconciliation.result_view import percent

KEEP, DISTRUST, DROP = "keep", "distrust", "drop"
DOUBTED_BELOW = 0.5
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
    alone_mm: float
    alone_sd_mm: float


def takes_a_length(result: Reconciliation) -> bool:
    """Tell whether a length may be taken, without weighing every source again."""
    step = choose_next_step(result.reasons_to_ask, result.interval_mm(), dict)
    return step.word == "confirm"


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


def answer_words(result: Reconciliation) -> str:
    """Say how much of the answer the working length has passed."""
    if not takes_a_length(result):
        return "too wide to take a length"
    return f"past the foramen in {count_past(result.probability_past(result.best_length_mm))}"


def live_sentence(result: Reconciliation, set_aside: Sequence[str]) -> str:
    """Say where the canal ends, the length, and the chance of being past, in one go."""
    low, high = result.interval_mm()
    where = (
        f"All together: the canal ends at {result.foramen_mm:.1f} mm, "
        f"nine times in ten between {low:.1f} and {high:.1f} mm"
    )
    if result.reasons_to_ask:
        return f"Not with these sources: {'; '.join(result.reasons_to_ask)}. Ask."
    if takes_a_length(result):
        past = count_past(result.probability_past(result.best_length_mm))
        said = (
            f"{where}; a working length of {result.best_length_mm:.2f} mm is past that in {past}."
        )
    else:
        said = f"{where}. That is too wide to take a length: not yet."
    return said + (f" Set aside: {', '.join(set_aside)}." if set_aside else "")


def doubts(result: Reconciliation) -> str:
    """Say which sources the others do not believe, and what to do next."""
    doubted = [
        f"{row.name} ({percent(row.trust)})" for row in result.sources if row.trust < DOUBTED_BELOW
    ]
    said = f"Hardly believed: {', '.join(doubted)}. " if doubted else ""
    return said + f"Next: {result.next_step.sentence}"


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
    body = []
    for row in rows:
        judged = weighed.get(row.name)
        believed = percent(judged.trust) if judged else "set aside"
        shift = f"{judged.shift_without_mm:+.1f} mm".replace("-", "−") if judged else "–"
        body.append(
            f'<tr><th scope="row">{html.escape(row.name)}</th>'
            f"<td>{row.alone_mm:.1f} ± {row.alone_sd_mm:.1f} mm</td>"
            f"<td>{believed}</td><td>{shift}</td></tr>"
        )
    head = "".join(
        f'<th scope="col">{title}</th>'
        for title in ("Source", "Foramen by it alone", "Believed", "Without it the answer moves")
    )
    return (
        '<table class="lengthwise-table"><caption>What each source says, and what it does to the '
        f"answer</caption><thead><tr>{head}</tr></thead><tbody>{''.join(body)}</tbody></table>"
    )
