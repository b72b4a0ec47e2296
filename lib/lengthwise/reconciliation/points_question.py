"""When paper points raise a question before any length is taken from them."""

from collections.abc import Callable, Sequence

from lengthwise.evidence import PointTrial
from lengthwise.evidence.tenths import apart_mm
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

from .posterior import shortening_mm
from .sources import Source, latest_stage


def points_question(
    sources: Sequence[Source],
    past_by_others: Callable[[float], float],
    trust_by_kind: Callable[[], dict[str, float]],
) -> str | None:
    """The question as a sentence; None where points raise none.

    Two signs, both from the last drying attempt. Marks that drift apically from point to point
    show liquid that the points take away, if paper is not believed any more. Points that all stay
    dry where the other sources have the foramen behind them show one that binds, or a canal that
    is blocked: never a reason to go longer.

    Parameters
    ----------
    sources : the sources of a case.
    past_by_others : gives the probability, by all other sources, that a length (mm) is past
        the foramen.
    trust_by_kind : gives how far each kind of source is believed; asked only if marks drift.

    Examples
    --------
    >>> from lengthwise.reconciliation import sources_of
    >>> from lengthwise.evidence import Evidence
    >>> dry = PointTrial(length_mm=26.0, contact_s=1.0, wet_mm=0.0, ran_freely=True)
    >>> case = Evidence(tooth="13", canal="single", reference_point="cusp tip", evidence=(dry,))
    >>> points_question(sources_of(case), lambda mm: 0.1, dict) is None
    True
    >>> points_question(sources_of(case), lambda mm: 0.8, dict)[:30]
    'Do not go longer: no point has'
    """
    attempts = [source for source in sources if source.kind == "point_trial"]
    if not attempts:
        return None
    trials = [r for r in attempts[-1].records if isinstance(r, PointTrial)]
    ends = [r.length_mm + r.offset_mm - r.wet_mm for r in trials if r.wet_mm > 0]
    if not ends:
        lost_since = shortening_mm(attempts[-1].stage, latest_stage(sources), 0.0)
        longest = max(r.length_mm + r.offset_mm for r in trials) - lost_since
        if past_by_others(longest) < p.DRY_PAST_QUESTION.value:
            return None
        return (
            "Do not go longer: no point has come out wet, and by the other sources the foramen is "
            "passed. See whether the canal is open, whether the point runs and the reference "
            "holds, then try again."
        )
    drift = ends[-1] - ends[0]
    if drift < p.DRIFT_SUSPECT_MM.value:
        return None
    if trust_by_kind()["point_trial"] >= c.PAPER_NOT_DRY_BELOW.value:
        return None
    return (
        f"Not dry: from point to point the marks moved by {apart_mm(ends[-1], ends[0]):.1f} mm, "
        "so liquid was left. Dry the canal, then repeat the points."
    )
