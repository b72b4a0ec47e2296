"""What can be seen after an action: whether the canal is dry, and the signs that ask for a cause.

Judged by what was written down, as a careful reader would, never by the simulated canal.
"""

from collections.abc import Sequence

from lengthwise.evidence import Evidence, PointTrial
from lengthwise.evidence.tenths import spread_mm
from lengthwise.reference import constants as c
from lengthwise.reference import points as p

from .point_words import longest_dry_mm
from .rounds import Seen

FEWEST_WET = 2
STUCK = 2
"""Several repeats have to agree; this many stuck points speak of the canal, not of a point."""


def signs(seen: Seen) -> frozenset[str]:
    """The signs among brisk, blood, side, suspected, stuck that show after an action.

    >>> sorted(signs(Seen("Rinsed with saline; the canal is full.", bleeding="brisk")))
    ['blood', 'brisk']
    """
    trials = seen.trials
    stuck = [each for each in trials if each.wet_mm == 0 and each.ran_freely is False]
    blocked = seen.found.get("obstruction") == "block"
    shown = {
        "brisk": seen.bleeding == "brisk",
        "blood": seen.bleeding != "none" or any(each.liquid == "blood" for each in trials),
        "side": any(each.mark_site == "side" for each in trials),
        "suspected": bool({"communication", "apex"} & set(seen.found)),
        "stuck": blocked
        or len(stuck) >= STUCK
        or (bool(trials) and all(each.wet_mm == 0 for each in trials)),
    }
    return frozenset(sign for sign, shows in shown.items() if shows)


def why_not_dry(trials: Sequence[PointTrial]) -> str:
    """Why these points, tried one after the other, tell no length; empty when they may.

    >>> wet = PointTrial(length_mm=22.0, contact_s=1.0, wet_mm=0.8, liquid_in_canal="dry")
    >>> inside = PointTrial(length_mm=21.5, contact_s=1.0, wet_mm=0.0, ran_freely=True)
    >>> why_not_dry([inside, wet, wet])
    ''
    >>> why_not_dry([inside, wet, wet.model_copy(update={"wet_mm": 2.0})])
    'the marks moved by 1.2 mm from point to point'
    """
    wet = [each for each in trials if each.wet_mm > 0]
    if any(each.mark_site == "side" for each in wet):
        return "a point was wet on its side and dry at its tip"
    if any(each.mark_site == "whole" for each in wet):
        return "a point was wet all along"
    if any(each.liquid == "blood" for each in wet):
        return "the points came out bloody"
    if any(each.liquid_in_canal not in (None, "dry") for each in trials):
        return "the last drying point did not come out dry"
    if len(wet) < FEWEST_WET:
        return "fewer than two points met fluid"
    ends = [each.length_mm - each.wet_mm for each in wet]
    if max(ends) - min(ends) > p.DRIFT_SUSPECT_MM.value:
        return f"the marks moved by {spread_mm(ends):.1f} mm from point to point"
    inside = longest_dry_mm(trials)
    met = min(ends) + c.PAPER_K_MM_PER_SQRT_S.value * wet[0].contact_s ** 0.5
    if inside is not None and inside - met > p.DRIFT_SUSPECT_MM.value:
        return (
            f"marks that begin at {met:.1f} mm contradict a point that was dry at {inside:g} mm: "
            "liquid stood free in the canal"
        )
    return ""


def last_tried(course: Sequence[Seen]) -> Seen:
    """The points that were tried last, with what had been found by the end; nothing is said."""
    found: dict[str, str] = {}
    trials: tuple[PointTrial, ...] = ()
    for seen in course:
        found |= seen.found
        trials = seen.trials or trials
    return Seen("", trials, found)


def evidence_after(before: Evidence, course: Sequence[Seen]) -> Evidence:
    """What a length may rest on: the radiograph, and the points that were tried last.

    Points from a canal that was wet, or blocked, are set aside once it was dried again.
    """
    last = last_tried(course)
    films = tuple(r for r in before.records if not isinstance(r, PointTrial))
    context = before.context.model_copy(update=dict(last.found))
    return before.model_copy(update={"records": (*films, *last.trials), "context": context})
