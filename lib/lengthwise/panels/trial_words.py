"""What the panel of point trials says in words. Rounding happens here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lengthwise.evidence import PointTrial
from lengthwise.evidence.tenths import apart_mm, spread_mm
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.trial_case import ESTIMATED_MM, Meeting, allowance_mm
from lengthwise.reference import constants as c

SHOWN_MM = 0.05
"""A difference below this is not told: the screen shows tenths."""

SURE_HANDS = 2
"""So many times the scatter of a hand is more than it is off by, 19 in 20 times."""

CANAL = {"dry": "dry", "irrigant": "water in it", "blood": "blood in it"}


def between(low_mm: float, high_mm: float) -> str:
    """One length, or two where they differ by a tenth.

    >>> between(0.29, 0.31), between(0.66, 1.18)
    ('0.3 mm', '0.7 to 1.2 mm')
    """
    low, high = f"{low_mm:.1f}", f"{high_mm:.1f}"
    return f"{low} mm" if low == high else f"{low} to {high} mm"


def give_or_take(middle_mm: float, half_mm: float) -> str:
    """A length, and how far it may be off where that shows.

    >>> give_or_take(24.12, 0.02), give_or_take(24.12, 0.26)
    ('24.1 mm', '24.1 mm, give or take 0.3')
    """
    said = f"{middle_mm:.1f} mm"
    return said if half_mm < SHOWN_MM else f"{said}, give or take {half_mm:.1f}"


@dataclass(frozen=True)
class Mark:
    """A mark as it is told: whoever subtracts two of these finds the third.

    Attributes
    ----------
    long, wicked : how long it is, and how much of that wicked.
    foramen, corrected : where it puts the foramen as it is, and less what wicks as a rule.
    """

    long: str
    wicked: str
    foramen: str
    corrected: str


def mark_of(met: Meeting) -> Mark:
    """The mark of a point that came out wet, in words."""
    marks = [met.overshoot_mm + wicked for wicked in met.wicked_mm]
    ends = [apart_mm(met.point.length_mm, mark) for mark in reversed(marks)]
    allowed, half = allowance_mm(met.point.contact_s)
    return Mark(
        long=between(*marks),
        wicked=between(*(apart_mm(mark, met.overshoot_mm) for mark in marks)),
        foramen=between(*ends),
        corrected=give_or_take(sum(ends) / 2 + round(allowed, 1), half),
    )


def sentence_of(met: Meeting) -> str:
    """What the picture shows, in numbers."""
    point = met.point
    start = f"Set to {point.length_mm:g} mm, the point of size {point.size}"
    if not met.wet:
        return f"{start} {_dry(met)}"
    mark = mark_of(met)
    laws = "" if mark.long.count(" ") == 1 else ", by one law or the other"
    return (
        f"{start} goes {met.overshoot_mm:.1f} mm past where {_surface(met)}. After "
        f"{point.contact_s:.1f} s the mark is {mark.long} long{laws}: {met.overshoot_mm:.1f} mm "
        f"overshoot, {mark.wicked} wicked. {_by_hand(met.overshoot_mm, 'dry')}"
        f"{_implied(met, mark)}{_beyond(met)}"
    )


def _surface(met: Meeting) -> str:
    if met.liquid == "tissue":
        return "it meets tissue"
    standing = met.foramen_mm - met.surface_mm
    return f"{met.liquid} begins, which stands {standing:.1f} mm above the foramen"


def _dry(met: Meeting) -> str:
    if met.binds:
        return (
            f"binds at {met.tip_mm:.1f} mm and stays dry. That does not say that the canal goes "
            f"on: the foramen is at {met.foramen_mm:.1f} mm. Do not go longer; take a thinner "
            "point."
        )
    short = met.surface_mm - met.tip_mm
    gap = "just" if short < SHOWN_MM else f"{short:.1f} mm"
    return (
        f"ends {gap} short of where it would meet {met.liquid}. Placed exactly there it stays dry, "
        f"however long it is left. {_by_hand(short, 'wet')}The foramen is at "
        f"{met.foramen_mm:.1f} mm."
    )


def _by_hand(margin_mm: float, instead: str) -> str:
    """What a hand may make of a point whose tip is so near to where the liquid begins."""
    hand = c.PLACEMENT_SD_MM.value
    if margin_mm > SURE_HANDS * hand:
        return ""
    return f"A hand is off by about {hand:g} mm: tried by hand, it may come out {instead}. "


def _implied(met: Meeting, mark: Mark) -> str:
    """Where the foramen would be by this mark, and where it is."""
    as_it_is = f"As it is, the mark puts the foramen at {mark.foramen}"
    truth = f"It is at {met.foramen_mm:.1f} mm."
    if met.liquid != "tissue":
        return (
            f"{as_it_is}. {truth} The canal is not dry: take no length from this point, dry first."
        )
    allowed, _ = allowance_mm(met.point.contact_s)
    return f"{as_it_is}; less what wicks as a rule, {allowed:.1f} mm, at {mark.corrected}. {truth}"


def _beyond(met: Meeting) -> str:
    past = met.tip_mm - met.foramen_mm
    if past < SHOWN_MM:
        return ""
    return (
        f" {past:.1f} mm of paper is past the foramen. In a patient nobody sees that: once a point "
        "has come out wet at its tip, none goes longer."
    )


def says(trial: PointTrial) -> str:
    """What one point that was tried says about the foramen; the clinic knows no more.

    >>> says(PointTrial(length_mm=24.5, contact_s=1.0, wet_mm=0.6, liquid_in_canal="dry"))
    '24.2 mm'
    >>> says(PointTrial(length_mm=24.0, contact_s=1.0, wet_mm=0.0, ran_freely=False))
    'nothing: it did not run freely'
    """
    if trial.ran_freely is False:
        return "nothing: it did not run freely"
    if trial.wet_mm == 0:
        return f"beyond {trial.length_mm:g} mm"
    if trial.liquid_in_canal != "dry":
        return "no length: not dry"
    allowed, half = allowance_mm(trial.contact_s)
    return give_or_take(trial.length_mm - trial.wet_mm + allowed, half)


def log_sheet(trials: Sequence[PointTrial], caption: str = "Points tried") -> Sheet:
    """The log as a table, one row a point."""
    rows = tuple(
        (
            f"{number}. {trial.length_mm:g} mm, size {trial.size}, {trial.contact_s:g} s",
            CANAL.get(trial.liquid_in_canal or "", "not known"),
            f"{trial.wet_mm:.1f}" if trial.wet_mm > 0 else "dry",
            says(trial),
        )
        for number, trial in enumerate(trials, start=1)
    )
    return Sheet(caption, ("Point", "Canal", "Mark (mm)", "Foramen, less what wicks"), rows)


def summary_of(trials: Sequence[PointTrial]) -> str:
    """What the points tried in a dry canal say together, and what is to be done next.

    >>> dry = PointTrial(length_mm=24.0, contact_s=1.0, wet_mm=0.0, liquid_in_canal="dry")
    >>> summary_of([dry])
    'Longest dry 24 mm. Next: the same half a millimetre longer.'
    """
    told = [t for t in trials if t.ran_freely is not False and t.liquid_in_canal == "dry"]
    dry = [t.length_mm for t in told if t.wet_mm == 0]
    wet = [t for t in told if t.wet_mm > 0]
    if not told:
        if trials:
            stuck = trials[-1].ran_freely is False
            why = (
                "the point did not run freely: take a thinner one"
                if stuck
                else "the canal is not dry: dry it first"
            )
            return f"No length yet: {why}."
        return f"No length yet. Next: a point half a millimetre short of {ESTIMATED_MM:g} mm."
    if not wet:
        if max(dry) >= ESTIMATED_MM + 1.0:
            return f"Longest dry {max(dry):g} mm. Go no longer: look at the canal and the point."
        return f"Longest dry {max(dry):g} mm. Next: the same half a millimetre longer."
    first = min(t.length_mm for t in wet)
    if told[-1].length_mm > first:
        return f"First wet {first:g} mm, and then a longer one: go back to {first:g} mm, no longer."
    ends = [t.length_mm - t.wet_mm + allowance_mm(t.contact_s)[0] for t in wet]
    marks = between(min(ends), max(ends))
    if not dry:
        return f"First wet {first:g} mm, none dry yet. Next: a point half a millimetre shorter."
    said = f"Longest dry {max(dry):g} mm, first wet {first:g} mm; less what wicks, {marks}."
    if len(wet) < 3:
        return f"{said} Next: the first wet length again; several must agree."
    return f"{said} {len(wet)} wet points within {spread_mm(ends):.1f} mm of each other."
