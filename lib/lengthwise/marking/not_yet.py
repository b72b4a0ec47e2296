"""Why the evidence does not support a length yet, and what is left to do, in true words.

The reason is what the records show: points that have all stayed dry are not sources that disagree.
"""

from lengthwise.evidence import PointTrial
from lengthwise.reconciliation import NEXT_STEPS, Reconciliation
from lengthwise.reconciliation.next_step import how_open
from lengthwise.reconciliation.sources import AVERAGE

from .point_sittings import STEP_MM
from .point_words import longest_dry_mm
from .rounds_signs import why_not_dry

APART_SD = 2.0
"""A source this many standard uncertainties from the others disagrees with them."""


def last_points(result: Reconciliation) -> tuple[PointTrial, ...]:
    """The points since the canal was dried last; empty where none was tried."""
    attempts = [source.records for source in result.used if source.kind == "point_trial"]
    return tuple(each for each in attempts[-1] if isinstance(each, PointTrial)) if attempts else ()


def all_dry_mm(result: Reconciliation) -> float | None:
    """The longest length (mm) of the last points where every one stayed dry; else None."""
    points = last_points(result)
    if not points or any(each.wet_mm for each in points):
        return None
    return longest_dry_mm(points)


def why_no_length(result: Reconciliation) -> str:
    """Why no length is supported, as a clause; empty where one is.

    >>> from lengthwise.evidence import Evidence
    >>> from lengthwise.reconciliation import reconcile
    >>> dry = PointTrial(length_mm=22.0, contact_s=1.0, wet_mm=0.0, ran_freely=True)
    >>> case = Evidence(tooth="13", canal="single", reference_point="cusp tip", evidence=(dry,))
    >>> why_no_length(reconcile(case, target_mm=0.5))[:50]
    'no point has come out wet yet, so paper says only '
    """
    if result.working_length_mm is not None:
        return ""
    if result.reasons_to_ask:
        return f"these sources cannot give one ({'; '.join(result.reasons_to_ask)})"
    inside = all_dry_mm(result)
    if inside is not None:
        return f"no point has come out wet yet, so paper says only that {inside:g} mm lies inside"
    points = last_points(result)
    if why := why_not_dry(points) if points else "":
        return why
    return _why_all_together(result)


def why_this_step(result: Reconciliation) -> str:
    """Why the next step is the next one, as a clause: paper is no reason to read or to film.

    >>> from lengthwise.evidence import Evidence
    >>> from lengthwise.reconciliation import reconcile
    >>> case = Evidence(tooth="13", canal="single", reference_point="cusp tip", evidence=())
    >>> why_this_step(reconcile(case, target_mm=0.5))[:9]
    'no radiog'
    """
    kind, none = _NOT_HEARD.get(result.next_step.word, ("", ""))
    if result.working_length_mm is not None or result.reasons_to_ask or not kind:
        return why_no_length(result)
    if kind not in {source.kind for source in result.used}:
        return f"{none}, and {how_open(result.interval_mm())}"
    return _why_all_together(result)


_NOT_HEARD = {
    "film": ("working_film", "no radiograph with a file tells a length so far"),
    "reading": ("electronic_reading", "no reading tells a length so far"),
}


def _why_all_together(result: Reconciliation) -> str:
    rows = [row for row in result.sources if row.kind != AVERAGE]
    odd = max(rows, key=lambda row: abs(row.residual), default=None)
    if odd is not None and len(rows) > 1 and abs(odd.residual) >= APART_SD:
        return f"the sources disagree, {odd.name} most of all"
    return how_open(result.interval_mm())


def left_to_do(result: Reconciliation) -> str:
    """The next step as it stands now: after dry points alone it is a longer one, not a repeat."""
    step = result.next_step
    inside = all_dry_mm(result)
    if step.word != "points" or inside is None:
        words = NEXT_STEPS[step.word].removeprefix("not yet: ").removeprefix("stop: ")
        taken = {record.kind for record in result.evidence.records}
        return words if _RECORDS.get(step.word) in taken else words.replace(" (again)", "")
    if step.net is None:  # what the points ask comes before any sum
        return (
            "do not go longer; see whether the canal is open, whether the point runs and the "
            "reference holds, then try points again"
        )
    return (
        f"go on with points: a fresh one at {inside + STEP_MM:g} mm, never more than 1 mm beyond "
        "the estimated length or a foramen signal whose three signs hold, whichever is further"
    )


_RECORDS = {"reading": "electronic_reading", "points": "point_trial"}
