"""A reconciliation in words, as a chart line, and as a table. Rounding happens here only."""

from html import escape
from typing import TYPE_CHECKING

from lengthwise.evidence import WorkingFilm
from lengthwise.reference.tables import tooth

from .reference_now import reference_warning
from .sources import AVERAGE

if TYPE_CHECKING:
    from .result import Reconciliation, SourceRow

DISBELIEVED = 0.5
NO_PLACE_SD_MM = 3.5
"""A source this vague, such as points that all stayed dry, is not told as a number."""


def plain_sentence(result: "Reconciliation") -> str:
    """Where the canal ends, the length, the chance of being past, and who is not believed."""
    low, high = result.interval_mm()
    if result.reasons_to_ask:
        return result.next_step.sentence
    length = result.working_length_mm
    if length is None:
        parts = [
            f"The canal ends between {low:.1f} and {high:.1f} mm, nine times in ten.",
            f"No working length yet. {result.next_step.sentence}",
        ]
    else:
        past = result.probability_past(length)
        parts = [
            f"The canal most likely ends at {result.foramen_mm:.1f} mm "
            f"(nine times in ten between {low:.1f} and {high:.1f} mm).",
            f"Suggested working length {length:.2f} mm; the chance that it is past the foramen "
            f"is {percent(past)}.",
        ]
    doubted = [
        f"{row.name} ({percent(row.trust)})"
        for row in result.sources
        if row.trust < DISBELIEVED and row.kind != AVERAGE
    ]
    if doubted:
        parts.append(f"It does not believe: {', '.join(doubted)}.")
    if warning := reference_warning(result.evidence):
        parts.append(warning)
    return " ".join(parts)


def chart_line(result: "Reconciliation") -> str:
    """Tooth, canal, reference, estimate, working length, sources, file, confirmation, visit.

    A radiograph of this visit with a file at the length, to a step of the stop, confirms it.
    """
    evidence = result.evidence
    described = tooth(evidence.tooth)
    length = result.working_length_mm
    files = [r.file_size for r in evidence.records if r.file_size is not None]
    visits = [r.visit for r in evidence.records if r.visit is not None]
    kinds = dict.fromkeys(s.name.split(",")[0] for s in result.used if s.kind != AVERAGE)
    film = any(
        isinstance(r, WorkingFilm)
        and length is not None
        and r.visit == max(visits, default=None)
        and abs(r.file_length_mm + r.offset_mm - length) <= result.loss.settable_step_mm
        for r in evidence.records
    )
    confirmed = "working radiograph" if film else "radiograph still to come"
    parts = [
        f"tooth {evidence.tooth} (Universal {described.universal})",
        f"canal {evidence.canal}",
        f"reference {evidence.reference_point}",
        f"foramen estimated {result.foramen_mm:.1f} mm",
        "working length " + (f"{length:.2f} mm" if length is not None else "not yet"),
        "sources " + (", ".join(kinds) or "none"),
        "file size at length " + (str(files[-1]) if files else "not recorded"),
        *([] if length is None else [f"confirmed by {confirmed}"]),
        "visit " + (str(max(visits)) if visits else "not recorded"),
    ]
    if warning := reference_warning(evidence):
        parts.append(warning.rstrip("."))
    return " · ".join(parts)


def html_view(result: "Reconciliation") -> str:
    """The sentence and the table of sources as HTML with row and column headers."""
    rows = "".join(
        f'<tr><th scope="row">{escape(row.name)}</th><td>{alone(row)}</td>'
        f"<td>{percent(row.trust)}</td>"
        f"<td>{signed_mm(row.shift_without_mm)}</td></tr>"
        for row in result.sources
    )
    return (
        f"<p>{escape(result.sentence)}</p>"
        "<table><caption>What each source says of the foramen</caption><thead><tr>"
        '<th scope="col">Source</th><th scope="col">Foramen by it alone</th>'
        '<th scope="col">Believed</th>'
        '<th scope="col">Shift without it</th></tr></thead>'
        f"<tbody>{rows}</tbody></table><p>Chart: {escape(result.chart_line)}</p>"
    )


def alone(row: "SourceRow") -> str:
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
