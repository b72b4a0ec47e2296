"""A reconciliation in words, as a chart line, and as a table. Rounding happens here only."""

from collections.abc import Sequence
from html import escape

from lengthwise.evidence import Evidence, WorkingFilm
from lengthwise.reference.tables import tooth

from .reference_now import reference_warning
from .source_rows import SourceRow
from .sources import AVERAGE, Source

DISBELIEVED = 0.5
NO_PLACE_SD_MM = 3.5
"""A source this vague, such as points that all stayed dry, is not told as a number."""


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


def chart_line(
    evidence: Evidence,
    used: Sequence[Source],
    foramen_mm: float,
    working_length_mm: float | None,
    settable_step_mm: float,
) -> str:
    """Tooth, canal, reference, estimate, working length, sources, file, confirmation, visit.

    A radiograph of this visit with a file at the length, to a step of the stop, confirms it.
    """
    described = tooth(evidence.tooth)
    length = working_length_mm
    files = [r.file_size for r in evidence.records if r.file_size is not None]
    visits = [r.visit for r in evidence.records if r.visit is not None]
    kinds = dict.fromkeys(s.name.split(",")[0] for s in used if s.kind != AVERAGE)
    film = any(
        isinstance(r, WorkingFilm)
        and length is not None
        and r.visit == max(visits, default=None)
        and abs(r.file_length_mm + r.offset_mm - length) <= settable_step_mm
        for r in evidence.records
    )
    confirmed = "working radiograph" if film else "radiograph still to come"
    parts = [
        f"tooth {evidence.tooth} (Universal {described.universal})",
        f"canal {evidence.canal}",
        f"reference {evidence.reference_point}",
        f"foramen estimated {foramen_mm:.1f} mm",
        "working length " + (f"{length:.2f} mm" if length is not None else "not yet"),
        "sources " + (", ".join(kinds) or "none"),
        "file size at length " + (str(files[-1]) if files else "not recorded"),
        *([] if length is None else [f"confirmed by {confirmed}"]),
        "visit " + (str(max(visits)) if visits else "not recorded"),
    ]
    if warning := reference_warning(evidence):
        parts.append(warning.rstrip("."))
    return " · ".join(parts)


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
