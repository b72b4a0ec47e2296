"""Lengths that could hurt somebody in practice: what is said before, at once, and afterwards.

A known limit is what the student sees: 1 mm beyond the estimated length or a foramen signal whose
three signs hold, whichever is further (lesson 04). What goes further costs marks. So does what goes
beyond the estimated length and, by all that was known then, more than 1 mm past the foramen. Nobody
pays within the estimated length, or for what could not be told then: the truth costs nothing.
"""

from collections.abc import Sequence
from math import floor

from lengthwise.evidence import ElectronicReading, PointTrial, WorkingFilm
from lengthwise.reconciliation import Reconciliation, reconcile
from lengthwise.reconciliation.sources import tells_length
from lengthwise.reconciliation.trace_quality import assess_trace
from lengthwise.reference import constants as c
from lengthwise.reference import practice as q

from .a7_chair import Place
from .point_sittings import BEYOND_MM, STEP_MM, estimated_mm
from .practice_chair import TARGET_MM, Act, Done, Sitting
from .tooth_words import beside

SHOWN_MM = 0.05
"""What is shown to a tenth as more than nothing."""


def near(place: Place) -> str:
    """What is near the end of the root and may be hurt; empty where nothing is named.

    >>> near(Place("35", "single", "cusp tip", near_nerve_or_sinus=True))
    'a nerve'
    """
    if not place.near_nerve_or_sinus:
        return ""
    return beside(place.fdi)


def some_lie_close(place: Place) -> str:
    """Of premolars and molars where nothing is named as near: a sentence; else empty.

    >>> some_lie_close(Place("34", "single", "cusp tip", near_nerve_or_sinus=False))
    ' Some roots of such teeth lie close to a nerve; this one is not named as one of them.'
    """
    if place.near_nerve_or_sinus or place.fdi[1] not in "45678":
        return ""
    return (
        f" Some roots of such teeth lie close to {beside(place.fdi)}; this one is not named as one "
        "of them."
    )


def limit_mm(sitting: Sitting) -> tuple[float, str]:
    """The length (mm) beyond which nothing may go by what has been seen, and what it rests on.

    It is 1 mm beyond the furthest of the estimated lengths and of the foramen signals
    whose three signs hold: the signal of a flooded chamber, say, comes late, and lengthens nothing.

    >>> from lengthwise.marking.practice_ways import begin
    >>> sitting = begin("plain", 1)
    >>> limit_mm(sitting)[0] - sitting.estimated_mm, limit_mm(sitting)[1]
    (1.0, 'the estimated length')
    """
    known = [(sitting.estimated_mm, "the estimated length")]
    for record in (each.record for each in sitting.done):
        if isinstance(record, WorkingFilm):
            known.append((estimated_mm(record), "the length estimated with a file inside"))
    known += [
        (signal_mm, "the foramen signal")
        for signal_mm, signs_hold in _signals(sitting.done)
        if signs_hold
    ]
    furthest_mm, what = max(known, key=lambda one: one[0])
    return furthest_mm + BEYOND_MM, what


def silent_at_the_limit(sitting: Sitting) -> int:
    """How many readings as far as a file may go gave no foramen signal; 0 once one has come.

    >>> from lengthwise.marking.practice_ways import begin
    >>> silent_at_the_limit(begin("plain", 1))
    0
    """
    limit, _ = limit_mm(sitting)
    readings = [each for each in sitting.done if isinstance(each.record, ElectronicReading)]
    if any(each.record is not None and tells_length(each.record) for each in readings):
        return 0
    return sum(limit - each.act.length_mm < STEP_MM for each in readings)


def estimate_words(sitting: Sitting) -> str:
    """The estimated length with its arithmetic.

    >>> from lengthwise.marking.practice_ways import begin
    >>> estimate_words(begin("plain", 1)).split(":")[0]
    'Estimated length'
    """
    image_mm, scale = sitting.case.record.tooth_length_mm, c.MAGNIFICATION_PARALLELING.value
    return (
        f"Estimated length: {image_mm:.1f} ÷ {scale:g} (the image shows it that much larger) − 1 = "
        f"{image_mm / scale - 1:.1f}, rounded to half a millimetre: {sitting.estimated_mm:g} mm."
    )


def last_stop_mm(sitting: Sitting) -> float:
    """The last stop (mm) at which nothing costs marks by what has been seen.

    >>> from lengthwise.marking.practice_ways import begin
    >>> sitting = begin("plain", 1)
    >>> last_stop_mm(sitting) - sitting.estimated_mm
    1.0
    """
    limit, _ = limit_mm(sitting)
    stop_mm, result = STEP_MM * floor((limit + SHOWN_MM) / STEP_MM), None
    while stop_mm - sitting.estimated_mm >= SHOWN_MM:
        result = result or reconcile(sitting.evidence(), target_mm=TARGET_MM)
        if not _likely_past(result, stop_mm):
            break
        stop_mm -= STEP_MM
    return stop_mm


def limit_words(sitting: Sitting) -> str:
    """The last stop at which nothing costs marks by what has been seen, with its reason.

    >>> from lengthwise.marking.practice_ways import begin
    >>> limit_words(begin("plain", 1))[-38:]
    'now: 1 mm beyond the estimated length.'
    """
    limit, what = limit_mm(sitting)
    stop_mm = last_stop_mm(sitting)
    if limit - stop_mm > STEP_MM - SHOWN_MM:  # a stop before the limit would have been left
        return (
            f"The limit is {stop_mm:.1f} mm now: {stop_mm + STEP_MM:.1f} mm is more than 1 mm "
            "beyond where all that you have so far puts the foramen."
        )
    if abs(limit - stop_mm) < SHOWN_MM:
        return f"The limit is {stop_mm:.1f} mm now: 1 mm beyond {what}."
    return (
        f"The limit is {stop_mm:.1f} mm now, the last stop before {limit:.1f} mm (1 mm beyond "
        f"{what})."
    )


def _likely_past(result: Reconciliation, length_mm: float) -> bool:
    """Whether all that is known puts this length more than 1 mm past the foramen."""
    past = result.probability_past(length_mm - BEYOND_MM)
    return not result.reasons_to_ask and past >= q.LIKELY_PAST.value


def too_far(sitting: Sitting, act: Act) -> str:
    """Why something set to this length could injure by what is known now; empty if it could not.

    >>> from lengthwise.marking.practice_ways import begin
    >>> sitting = begin("plain", 1)
    >>> too_far(sitting, Act("film", sitting.estimated_mm + 1.0))
    ''
    >>> "more than 1 mm beyond" in too_far(sitting, Act("film", sitting.estimated_mm + 1.5))
    True
    """
    limit, what = limit_mm(sitting)
    where = f"{act.length_mm:g} mm is more than 1 mm beyond"
    if act.length_mm - limit > SHOWN_MM:
        reason = f"{where} {what} of {limit - BEYOND_MM:.1f} mm"
    elif act.length_mm - sitting.estimated_mm < SHOWN_MM:
        return ""
    else:
        result = reconcile(sitting.evidence(), target_mm=TARGET_MM)
        if not _likely_past(result, act.length_mm):
            return ""
        reason = f"{where} where all that you have so far puts the foramen"
    return f"{reason}. {_hurt(sitting)}"


def _hurt(sitting: Sitting) -> str:
    beside_it = near(sitting.case.place)
    if beside_it:
        return f"{beside_it.capitalize()} is near, and being long can injure it."
    return f"Whatever leaves the canal hurts living tissue.{some_lie_close(sitting.case.place)}"


def cost_words(sitting: Sitting) -> str:
    """What going too far costs next in this case, in words.

    >>> from lengthwise.marking.practice_ways import begin
    >>> cost_words(begin("plain", 4))
    '40 % of the marks of this case'
    """
    more = min(_cost_of_one(sitting), q.TOO_FAR_MOST.value - injury_cost(sitting))
    if more <= 0:
        return "no more marks, because as many are lost as can be lost by it"
    return f"{round(100 * more)} % of the marks of this case"


def _cost_of_one(sitting: Sitting) -> float:
    return (q.TOO_FAR_NEAR_COST if near(sitting.case.place) else q.TOO_FAR_COST).value


def injury_cost(sitting: Sitting) -> float:
    """The share of the marks (0 to 1) that what the student set too long has cost so far."""
    each = _cost_of_one(sitting)
    return min(each * sum(done.too_far for done in sitting.own), q.TOO_FAR_MOST.value)


def caution(sitting: Sitting, act: Act) -> str:
    """What is said of something about to be put in to this length; empty where nothing is.

    A reading speaks only once its file is inside: it is cautioned as well.

    Examples
    --------
    >>> from lengthwise.marking.practice_ways import begin
    >>> sitting = begin("plain", 1)
    >>> caution(sitting, Act("film", sitting.estimated_mm))
    ''
    >>> caution(sitting, Act("film", sitting.estimated_mm + 0.5))[:8]
    'Caution:'
    """
    if reason := too_far(sitting, act):
        return f"Caution: {reason} This costs {cost_words(sitting)}."
    spoken = any(each.record is not None and tells_length(each.record) for each in sitting.done)
    beyond = act.length_mm - sitting.estimated_mm
    if spoken or beyond < SHOWN_MM:
        return ""
    return (
        f"Caution: {act.length_mm:g} mm is {beyond:.1f} mm beyond the estimated length of "
        f"{sitting.estimated_mm:g} mm, and no other source has spoken. {_hurt(sitting)} It costs "
        "nothing this time; stay within it until another source has spoken, and never go past the "
        "limit."
    )


def safety_words(sitting: Sitting) -> str:
    """Afterwards: what the lengths that the student set meant, and what they cost."""
    past_mm = sitting.longest_mm - sitting.patient.canal.foramen_mm
    paid = [each for each in sitting.own if each.too_far]
    parts = [_paid_words(sitting, paid)] if paid else []
    if past_mm >= SHOWN_MM:
        at_risk = near(sitting.case.place)
        parts.append(
            f"The longest thing you put in was set to {sitting.longest_mm:g} mm, {past_mm:.1f} mm "
            f"past the foramen{f', with {at_risk} near' if at_risk else ''}: what is that long can "
            f"leave the canal and hurt living tissue.{_stayed_dry(sitting)}"
        )
        if not paid:
            parts.append(_unpaid_words(sitting))
    return f"Safety: {' '.join(parts)}" if parts else ""


def _paid_words(sitting: Sitting, paid: list[Done]) -> str:
    lengths = ", ".join(dict.fromkeys(f"{each.act.length_mm:g}" for each in paid))
    foramen_mm = sitting.patient.canal.foramen_mm
    lucky = all(each.inside_mm - foramen_mm < SHOWN_MM for each in paid)
    return (
        f"You went too far for what was known then ({lengths} mm): "
        f"{round(100 * injury_cost(sitting))} % of the marks are lost."
        + (" That it stayed inside the canal was luck." if lucky else "")
    )


def _unpaid_words(sitting: Sitting) -> str:
    """Why the furthest length cost nothing, and what spoke against it all the same."""
    at = next(i for i, each in enumerate(sitting.done)
              if each.inside_mm == sitting.longest_mm and not each.came_before)  # fmt: skip
    signals_mm = [signal_mm for signal_mm, _ in _signals(sitting.done[:at])]
    if signals_mm and sitting.longest_mm - max(signals_mm) - BEYOND_MM > SHOWN_MM:
        return (
            "It lay within the limit, so it cost no marks; but the foramen signal had come at "
            f"{max(signals_mm):.1f} mm, more than 1 mm shorter: another source should have spoken "
            "before going further."
        )
    return (
        "By what you had then you could not know, so it cost no marks; for this reason nobody goes "
        "more than 1 mm beyond what is known."
    )


def _signals(done: Sequence[Done]) -> list[tuple[float, bool]]:
    """Where foramen signals came (mm), each with whether the three signs of its trace hold."""
    readings = [each.record for each in done if isinstance(each.record, ElectronicReading)]
    return [
        (trace.signal_mm, all(sign.holds for sign in trace.signs))
        for trace in map(assess_trace, readings)
        if trace.signal_mm is not None
    ]


def _stayed_dry(sitting: Sitting) -> str:
    tried = [each.record for each in sitting.own if isinstance(each.record, PointTrial)]
    longest = [each for each in tried if each.length_mm == sitting.longest_mm]
    if not longest or any(each.wet_mm for each in longest):
        return ""
    return " Your point stayed dry there all the same: dry does not prove that it was inside."
