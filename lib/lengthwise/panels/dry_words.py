"""What the panel of lesson 05 says in words. Rounding happens here."""

from __future__ import annotations

import re
from itertools import takewhile

from lengthwise.bench.canal_care import WET_WALL
from lengthwise.bench.canal_space import NOWHERE_MM
from lengthwise.bench.canal_state import CanalState
from lengthwise.bench.point_actions import (
    AngledRadiograph,
    CallSupervisor,
    CheckPatency,
    DressAndRebook,
    Dry,
    PeroxidePoint,
    PeroxideSyringe,
    Rinse,
    TryPoint,
    Wait,
)
from lengthwise.counted import counted
from lengthwise.evidence import PointTrial
from lengthwise.evidence.tenths import apart_mm
from lengthwise.panels.dry_canals import (
    Entry,
    Line,
    end_mm,
    ends_since_drying,
    evidence_of,
    standing_mm,
)
from lengthwise.reconciliation import reconcile
from lengthwise.reconciliation.result_view import percent
from lengthwise.reference import constants as c

MOST_ROUNDS = 3
"""Not dry after so many rounds: dress, seal, re-book or refer (common practice: two or three)."""

DISAGREE_MM = 1.0
"""Sources further apart than this after a repeat: stop and ask (the course's cautions)."""

BY_PLACING = 2 * 2**0.5
"""Two marks of one place differ by less than so many times the scatter of one, 19 in 20 times."""

SAME_MM = 0.05
"""Two lengths that read alike when they are said to a tenth."""

JUDGEMENTS = {
    "dry": "It is dry: these points tell its length.",
    "left": "Liquid was left in it, and the points take it away.",
    "returns": "Blood or liquid keeps coming back.",
    "tissue": "Living tissue was left inside.",
    "side": "There is an opening in the side of the root.",
    "stopped": "Something stops the points on their way.",
}
"""What a student can say of a canal."""

_WOULD_SHOW = {
    "dry": "In a dry canal a point is dry short of the end, and wet ones end at one place.",
    "left": "If liquid had only been left, marks would move deeper point by point, then stop.",
    "returns": "If it kept coming back, points would be wet again soon after drying.",
    "tissue": "If tissue had been left, marks would be bloody and start well short of the end, "
    "each time at the same place.",
    "side": "An opening in the side wets a point on its side and leaves the tip dry.",
    "stopped": "If something stopped them, points would be dry at every length.",
}
_CAUSES = {
    "over_length": "an instrument went past the foramen",
    "seeping": "clear liquid comes in through the foramen",
}
_TICKS = {
    Dry: "dried",
    Wait: "waited",
    CheckPatency: "patency",
    PeroxidePoint: "dampened",
    PeroxideSyringe: "syringe",
    CallSupervisor: "supervisor",
    AngledRadiograph: "radiograph",
}


def tick_of(entry: Entry) -> str:
    """The words of an action beside its tick.

    Examples
    --------
    >>> from lengthwise.panels.dry_canals import Line, done, dry_case
    >>> line = done(done(Line(dry_case("drifts")), TryPoint(23.5)), PeroxideSyringe())
    >>> [tick_of(entry) for entry in line.entries]
    ['point 23.5', '✕ syringe']
    """
    action = entry.outcome.action
    if isinstance(action, TryPoint):
        return f"point {action.length_mm:g}"
    if isinstance(action, DressAndRebook):
        return f"visit {entry.state.visit}"
    word = action.liquid if isinstance(action, Rinse) else _TICKS[type(action)]
    return f"✕ {word}" if entry.outcome.refused else word


def line_sentence(line: Line) -> str:
    """What the picture shows, in numbers.

    Examples
    --------
    >>> from lengthwise.panels.dry_canals import all_done, dry_case
    >>> line_sentence(all_done(Line(dry_case("blocked")), [TryPoint(24.0)]))[:73]
    'Canal E: 1 action, 1 point. The last point, set to 24 mm, came out dry an'
    """
    if not line.entries:
        parts = [
            f"Canal {line.case.letter}: shaped, rinsed, and said to be dry. The electronic reading "
            f"gave its foramen signal at {line.case.signal_mm:.1f} mm. No point has been tried."
        ]
    else:
        done = f"{counted(len(line.entries), 'action')}, {counted(len(line.trials), 'point')}"
        parts = [f"Canal {line.case.letter}: {done}."]
    if line.trials:
        parts.append(_last_point(line.trials[-1]))
    ends = ends_since_drying(line)
    if len(ends) > 1:
        parts.append(_moved(ends))
    state = line.state
    parts.append(f"Bleeding: {state.bleeding}.")
    if state.rounds:
        parts.append(f"Dried in {counted(state.rounds, 'round')} this visit.")
    if state.rounds >= MOST_ROUNDS and not looks_dry(line):
        parts.append("Not dry after so many: dress, seal, re-book or refer.")
    if line.opened:
        parts.append(
            f"In truth the foramen lies at {state.canal.foramen_mm:.1f} mm, and liquid stands "
            f"{standing_mm(state):.1f} mm above it."
        )
    return " ".join(parts)


def _last_point(trial: PointTrial) -> str:
    start = f"The last point, set to {trial.length_mm:g} mm,"
    if trial.mark_site == "none":
        if trial.ran_freely is False:
            return f"{start} came out dry and did not run freely: it tells nothing of the length."
        return f"{start} came out dry: the end is at least there, if it ran."
    if trial.mark_site == "side":
        return f"{start} is wet on its side and dry at its tip: it tells no length."
    if trial.mark_site == "whole":
        return f"{start} is wet all along: it tells no length."
    blood = " with blood" if trial.liquid == "blood" else ""
    return f"{start} is wet{blood} up to {end_mm(trial):.1f} mm."


def _moved(ends_mm: list[float]) -> str:
    listed = ", ".join(f"{end:.1f}" for end in ends_mm)
    moved = apart_mm(ends_mm[-1], ends_mm[0])
    way = f"{abs(moved):.1f} mm {'deeper' if moved > 0 else 'shallower'} from first to last"
    if abs(moved) < SAME_MM:
        way = "first and last agree"
    elif abs(moved) < BY_PLACING * c.PLACEMENT_SD_MM.value:
        way += ", which the placing of two points may make"
    return f"Since the canal was last dried, marks ended at {listed} mm: {way}."


def looks_dry(line: Line) -> bool:
    """Whether what has been seen since the canal was last dried speaks for a dry canal.

    It does not bleed, the last drying point was dry, and no mark contradicts the reading.
    """
    seen = line.state.bleeding == "none" and line.state.liquid_in_canal == "dry"
    far = line.case.signal_mm - DISAGREE_MM
    return seen and all(end > far for end in ends_since_drying(line))


def library_sentence(line: Line) -> str:
    """What a reconciliation of the records so far makes of them, in a sentence or two."""
    if not line.trials:
        return "The library: there are no points to weigh yet."
    result = reconcile(evidence_of(line))
    step = result.next_step
    if step.word == "ask":
        return f"The library: {step.sentence}"
    low, high = result.interval_mm()
    where = f"puts the foramen between {low:.1f} and {high:.1f} mm nine times in ten"
    trust = [row.trust for row in result.sources if row.kind == "point_trial"]
    reason = _without_costs(step.sentence)
    if step.word == "confirm" and trust and trust[-1] < c.PAPER_NOT_DRY_BELOW.value:
        # The other sources leave little open; nobody has asked yet why the canal is wet.
        reason = "It sets these points aside. Find out why they were wet before a length."
    if line.state.bleeding != "none":
        reason += " It does not see the bleeding; you do. Ask for its cause first."
    points = f"believes the last points {percent(trust[-1])}" if trust else "reads no length here"
    return f"The library {points}, and {where}. {reason}"


def _without_costs(sentence: str) -> str:
    """A next step without the sentences that count what it is worth: those are for lesson 06.

    >>> _without_costs("Dry the canal: 2.4 mm are open. It is worth 0.3 and costs 0.1.")
    'Dry the canal: 2.4 mm are open.'
    """
    parts = re.split(r"(?<=\.) ", sentence)
    return " ".join(takewhile(lambda part: "cost" not in part, parts))


def found(state: CanalState) -> str:
    """Which of `JUDGEMENTS` holds for a canal as it is now."""
    if state.block_mm > NOWHERE_MM:
        return "stopped"
    if state.lateral_mm is not None:
        return "side"
    if state.remnant_mm > 0:
        return "tissue"
    if state.bleeding != "none" or state.seep_ul_per_s > 0:
        return "returns"
    # Less than what placing a point can tell is no liquid that anybody could find.
    stands = standing_mm(state) > c.PLACEMENT_SD_MM.value
    return "left" if stands or state.wall_moisture > WET_WALL else "dry"


def compared(said: str, state: CanalState) -> str:
    """Compare a judgement (a key of `JUDGEMENTS`) with the canal; never just right or wrong."""
    really = found(state)
    inside = _inside(really, state)
    if said == really:
        return f"That is how it is. {inside} The picture now shows the inside."
    shows = _WOULD_SHOW[said]
    if said == "returns" and state.bleeding != "none":
        shows = "It does bleed. That is a sign; the question is of what."
    return (
        f"You said: {JUDGEMENTS[said]} {shows} Look again at the marks. {inside} "
        "The picture now shows the inside."
    )


def _inside(really: str, state: CanalState) -> str:
    level = f"liquid stands {standing_mm(state):.1f} mm above the foramen"
    flow = "It bleeds" if state.bleeding != "none" else "It seeps"
    return {
        "dry": "Nothing stands in this canal now, and nothing comes back.",
        "left": f"In this canal {level}, and nothing comes back: dry it and start again.",
        "returns": f"{flow}: {_CAUSES.get(state.cause, state.cause)}; {level}. What comes back "
        "can equal what a point takes, so marks may agree and be wrong.",
        "tissue": f"Tissue reaches up to {state.remnant_mm:.1f} mm above the foramen; paper meets "
        "it there.",
        "side": f"The root is open at its side, {state.lateral_mm or 0:.1f} mm above the foramen. "
        "Stop, no peroxide, no hypochlorite, call the supervisor.",
        "stopped": f"A plug of debris sits {state.block_mm:.1f} mm above the foramen, and every "
        "point ends on it. Going longer does not help; see whether the canal is open.",
    }[really]
