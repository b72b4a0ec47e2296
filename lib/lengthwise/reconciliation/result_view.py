"""A reconciliation in words and as a table. Rounding happens here and in the chart line only."""

from collections.abc import Sequence
from html import escape

from lengthwise.evidence.tenths import apart_mm
from lengthwise.reference import constants as c

from .source_rows import SourceRow
from .sources import AVERAGE

DISBELIEVED = 0.5
NO_PLACE_SD_MM = 3.5
"""A source this vague, such as points that all stayed dry, is not told as a number."""
ASK_WHY_EARLY = (
    "Before you set it aside, ask why: liquid left at the end of a dried canal, metal that was "
    "touched, an opening to the side. If it came suddenly, or there was blood: stop and ask."
)


def not_yet(interval_mm: tuple[float, float], next_sentence: str) -> str:
    """Where the canal ends, and what to do before a length is taken.

    >>> not_yet((22.31, 25.04), "Repeat the reading in a dried canal.")
    'The canal ends between 22.3 and 25.0 mm, nine times in ten. No working length yet. \
Repeat the reading in a dried canal.'
    """
    low, high = interval_mm
    return (
        f"The canal ends between {low:.1f} and {high:.1f} mm, nine times in ten. "
        f"No working length yet. {next_sentence}"
    )


def suggestion(
    foramen_mm: float, interval_mm: tuple[float, float], length_mm: float, past: float
) -> str:
    """Where the canal ends, the working length, and the chance that it is past the foramen.

    >>> suggestion(25.3, (24.84, 25.81), 24.75, 0.03)
    'The canal most likely ends at 25.3 mm (nine times in ten between 24.8 and 25.8 mm). \
Suggested working length 24.75 mm; the chance that it is past the foramen is 3 %.'
    """
    low, high = interval_mm
    return (
        f"The canal most likely ends at {foramen_mm:.1f} mm "
        f"(nine times in ten between {low:.1f} and {high:.1f} mm). "
        f"Suggested working length {length_mm:.2f} mm; the chance that it is past the foramen "
        f"is {percent(past)}."
    )


def disbelief(rows: Sequence[SourceRow]) -> str:
    """The sources that are more likely wrong than right; empty where there are none."""
    doubted = [
        f"{row.name} ({percent(row.trust)})"
        for row in rows
        if row.trust < DISBELIEVED and row.kind != AVERAGE
    ]
    return f"It does not believe: {', '.join(doubted)}." if doubted else ""


def came_early(
    set_aside_mm: Sequence[tuple[str, float]], foramen_mm: float, interval_mm: tuple[float, float]
) -> str:
    """What to ask before a far too early foramen signal is outvoted; empty where none is.

    The others may be right about the length, and the signal still be the only one that tells of an
    opening to the side.

    Parameters
    ----------
    set_aside_mm : name and foramen (mm) of each electronic reading that is not believed.
    foramen_mm, interval_mm : what all sources say, and its 90 % interval.

    Examples
    --------
    >>> came_early([("electronic reading", 23.0)], 25.4, (25.0, 25.8))[:60]
    'The foramen signal of the electronic reading came 2.4 mm ear'
    >>> came_early([("electronic reading", 26.5)], 25.4, (25.0, 25.8))
    ''
    """
    early = [
        f"The foramen signal of the {name} came {apart_mm(foramen_mm, signal_mm):.1f} mm early."
        for name, signal_mm in set_aside_mm
        if signal_mm < min(interval_mm[0], foramen_mm - c.CONFLICT_ASK_MM.value)
    ]
    return f"{' '.join(early)} {ASK_WHY_EARLY}" if early else ""


def html_view(sentence: str, sources: Sequence[SourceRow], chart: str) -> str:
    """The sentence and the table of sources as HTML with row and column headers."""
    rows = "".join(
        f'<tr><th scope="row">{escape(row.name)}</th><td>{alone(row)}</td>'
        f"<td>{percent(row.trust)}</td>"
        f"<td>{signed_mm(row.shift_without_mm)}</td></tr>"
        for row in sources
    )
    return (
        f"<p>{escape(sentence)}</p>"
        "<table><caption>What each source says of the foramen</caption><thead><tr>"
        '<th scope="col">Source</th><th scope="col">Foramen by it alone</th>'
        '<th scope="col">Believed</th>'
        '<th scope="col">Shift without it</th></tr></thead>'
        f"<tbody>{rows}</tbody></table><p>Chart: {escape(chart)}</p>"
    )


def alone(row: SourceRow) -> str:
    """The foramen by one source alone, with its standard uncertainty; a source that only says
    "beyond here" names no place.
    """
    return place_mm(row.implied_mm, row.sd_mm)


def place_mm(middle_mm: float, sd_mm: float) -> str:
    """A place with its standard uncertainty (mm), unless it is too vague to be one.

    >>> place_mm(24.62, 0.4), place_mm(34.0, 5.6)
    ('24.6 ± 0.4 mm', 'names no place by itself')
    """
    if sd_mm > NO_PLACE_SD_MM:
        return "names no place by itself"
    return f"{middle_mm:.1f} ± {sd_mm:.1f} mm"


def signed_mm(shift_mm: float) -> str:
    """A shift with its sign, and a shift that rounds to nothing as nothing.

    >>> signed_mm(-0.31), signed_mm(0.02)
    ('−0.3 mm', 'none')
    """
    if abs(shift_mm) < 0.05:
        return "none"
    return f"{shift_mm:+.1f} mm".replace("-", "−")


def percent(share: float) -> str:
    """A share in words that never claims certainty.

    >>> percent(0.004), percent(0.123), percent(0.999)
    ('less than 1 %', '12 %', 'more than 99 %')
    """
    if share < 0.01:
        return "less than 1 %"
    if share > 0.99:
        return "more than 99 %"
    return f"{share:.0%}".replace("%", " %")
