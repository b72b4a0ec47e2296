"""When paper points raise a question before any length is taken from them."""

from collections.abc import Callable

from lengthwise.evidence import PointTrial
from lengthwise.evidence.tenths import apart_mm
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

from .families import Canal
from .posterior import shortening_mm
from .sources import Source


def points_question(
    canal: Canal,
    past_by_others: Callable[[float], float],
    trust: Callable[[Source], float],
) -> str | None:
    """The question as a sentence; None where points raise none.

    Two signs, both from the last drying attempt. Marks that drift apically from point to point
    show liquid that the points take away, if paper is not believed any more. Points that all stay
    dry where the other sources have the foramen behind them show one that binds, or a canal that
    is blocked: never a reason to go longer.

    Parameters
    ----------
    canal : the canal and all its sources.
    past_by_others : gives the probability, by all other sources, that a length (mm) is past
        the foramen.
    trust : gives how far one of the sources is believed; asked only if marks drift.

    Examples
    --------
    >>> from lengthwise.reconciliation import sources_of
    >>> from lengthwise.reconciliation.families import canal_of
    >>> from lengthwise.evidence import Evidence
    >>> dry = PointTrial(length_mm=26.0, contact_s=1.0, wet_mm=0.0, ran_freely=True)
    >>> case = Evidence(tooth="13", canal="single", reference_point="cusp tip", evidence=(dry,))
    >>> canal = canal_of(case, sources_of(case))
    >>> points_question(canal, lambda mm: 0.1, lambda source: 1.0) is None
    True
    >>> points_question(canal, lambda mm: 0.8, lambda source: 1.0)[:30]
    'Do not go longer: no point has'
    """
    attempts = [source for source in canal.sources if source.kind == "point_trial"]
    if not attempts:
        return None
    trials = [r for r in attempts[-1].records if isinstance(r, PointTrial)]
    ends = [r.length_mm + r.offset_mm - r.wet_mm for r in trials if r.wet_mm > 0]
    if not ends:
        lost_since = shortening_mm(attempts[-1].stage, canal.stage, 0.0)
        longest = max(r.length_mm + r.offset_mm for r in trials) - lost_since
        if past_by_others(longest) < p.DRY_PAST_QUESTION.value:
            return None
        return (
            "Do not go longer: no point has come out wet, and by the other sources the foramen is "
            "probably passed. See whether the canal is open, whether the point runs and the "
            "reference holds, then try again."
        )
    drift = ends[-1] - ends[0]
    if drift < p.DRIFT_SUSPECT_MM.value:
        return None
    if trust(attempts[-1]) >= c.PAPER_NOT_DRY_BELOW.value:
        return None
    moved = f"from point to point the marks moved by {apart_mm(ends[-1], ends[0]):.1f} mm"
    if any(r.liquid == "blood" for r in trials):
        return (
            f"Not dry: {moved}, and they are bloody. Look for what bleeds before you dry the canal "
            "and repeat the points."
        )
    return f"Not dry: {moved}, so liquid was left. Dry the canal, then repeat the points."
