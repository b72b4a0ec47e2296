"""Lengths that could hurt somebody in practice: what is said at once, and afterwards.

Nothing goes beyond the estimated length until another source than the image has spoken.
"""

from lengthwise.reconciliation.sources import tells_length

from .a7_chair import Place
from .practice_chair import Act, Sitting
from .tooth_words import beside


def near(place: Place) -> str:
    """What is near the end of the root and may be hurt; empty where nothing is named.

    >>> near(Place("35", "single", "cusp tip", near_nerve_or_sinus=True))
    'a nerve'
    """
    if not place.near_nerve_or_sinus:
        return ""
    return beside(place.fdi)


def caution(sitting: Sitting, act: Act) -> str:
    """What is said of something about to be put in to this length; empty where nothing is.

    Examples
    --------
    >>> from lengthwise.marking.practice_ways import begin
    >>> sitting = begin("plain", 1)
    >>> caution(sitting, Act("reading", sitting.estimated_mm))
    ''
    >>> caution(sitting, Act("reading", sitting.estimated_mm + 0.5))[:8]
    'Caution:'
    """
    spoken = any(each.record is not None and tells_length(each.record) for each in sitting.done)
    if spoken or act.length_mm <= sitting.estimated_mm:
        return ""
    place = sitting.case.place
    hurt = "Whatever leaves the canal hurts living tissue."
    if near(place):
        hurt = f"{near(place).capitalize()} is near, and being long can injure it."
    return (
        f"Caution: {act.length_mm:g} mm is beyond the estimated length of "
        f"{sitting.estimated_mm:g} mm (the image brought to scale, less 1 mm), and no other source "
        f"had spoken. {hurt} Stay within it until another source has spoken."
    )


def safety_words(sitting: Sitting) -> str:
    """Afterwards: what the lengths that the student set meant, and whether they cost marks."""
    early = any(each.caution for each in sitting.own)
    past_mm = sitting.longest_mm - sitting.patient.canal.foramen_mm
    parts = []
    if past_mm > 0:
        at_risk = near(sitting.case.place)
        parts.append(
            f"the longest thing you put in was set to {sitting.longest_mm:g} mm, {past_mm:.1f} mm "
            "past the foramen: what is that long leaves the canal and can hurt living tissue"
            + (f", here with {at_risk} near." if at_risk else ".")
        )
    if early:
        first = "Something" if past_mm > 0 else "something"
        parts.append(
            f"{first} went beyond the estimated length before another source had spoken"
            + ("." if past_mm > 0 else "; that it stayed inside the canal was luck.")
        )
    if not parts:
        return ""
    cost = "This cost no marks, which judge the answer; a patient would bear it."
    return f"Safety: {' '.join(parts)} {cost}"
