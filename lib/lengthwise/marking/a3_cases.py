"""The twelve questions of assignment a3: can this trace be used, and what is changed if not?

What is expected follows from the trace and from what is written down beside it; what the canal
is like decides only which traces are worth asking about.
"""

import numpy as np

from .a3_kinds import FAR_MM, SHORT, SOUND, Judged, balanced, resting
from .a3_words import (
    AGAIN_ADDED,
    AGAIN_FOLLOWED,
    AGAIN_STEADY,
    CHANGE_WORDS,
    SIGN_WORDS,
    USABLE_WORDS,
    WHY,
    signs_in_words,
    told_beside,
)
from .exercise import Asked, Exercise, Slip
from .tooth_words import TEETH, named
from .trace_picture import trace_picture
from .trace_steps import trace_sheet

Generator = np.random.Generator

FULL_MM, NOTHING_MM = 0.2, 0.6
"""A depth earns all within the first, and nothing from the second on."""


def draw_cases(target_mm: float, rng: Generator) -> dict[str, Exercise]:
    """The questions q1 to q12 of one student; the class's target plays no part in them.

    >>> cases = draw_cases(0.5, np.random.default_rng(1))
    >>> len(cases), [each.name for each in cases["q2"].asked]
    (12, ['usable_2', 'sign_2', 'signal_2_mm', 'change_2'])
    """
    chosen = balanced(rng)
    order = rng.permutation(len(chosen))
    return {f"q{n}": _question(n, chosen[i]) for n, i in enumerate(order, start=1)}


def _question(n: int, judged: Judged) -> Exercise:
    one, kind = judged.reading, judged.kind
    reference = next(each[2] for each in TEETH if each[0] == one.canals.fdi)
    record = one.record
    usable = kind in (SOUND, SHORT)
    signal = one.quality.signal_mm if usable else None
    return Exercise(
        told=f"{named(one.canals.fdi)}. Lengths are from the {reference}. A file with a meter on "
        "it went in, rested on the way, went on, came out by a millimetre, went in again and came "
        "out.",
        sheets=(told_beside(one), trace_sheet(record)),
        asked=(
            Asked(f"usable_{n}", "can the trace be used", "yes" if usable else "no",
                  words=USABLE_WORDS, slips=() if usable else (_followed("yes"),)),
            Asked(f"sign_{n}", "the first sign that fails", "none" if usable else kind,
                  words=SIGN_WORDS, slips=() if usable else (_followed("none"),)),
            Asked(f"signal_{n}_mm", "depth of the foramen signal (mm)",
                  "none" if signal is None else round(signal, 2), FULL_MM, NOTHING_MM, 5.0, 45.0,
                  ("none",), slips=_signal_slips(judged)),
            Asked(f"change_{n}", "what to change before it is relied on", judged.changes[0],
                  words=CHANGE_WORDS, slips=_change_slips(judged), also=judged.changes[1:]),
        ),
        solution=_solution(judged),
        trap=kind,
        picture=trace_picture(record),
        picture_words=f"Strip chart of tooth {one.canals.fdi}: the indicated value against time, "
        "and under it the depth of the file. The table under it holds the same in steps.",
    )  # fmt: skip


def _followed(value: float | str) -> Slip:
    return Slip(value, "M1", AGAIN_FOLLOWED)


def _signal_slips(judged: Judged) -> tuple[Slip, ...]:
    one = judged.reading
    at, shows = resting(one)
    added = Slip(round(at + shows, 2), "M14", AGAIN_ADDED)
    if judged.kind in (SOUND, SHORT):
        return () if np.isnan(at) else (added,)
    deepest = _followed(max(one.record.depth_mm or ()))
    came = one.quality.signal_mm
    return (deepest,) if came is None else (deepest, _followed(round(came, 2)))


def _change_slips(judged: Judged) -> tuple[Slip, ...]:
    if judged.kind == SOUND:
        return ()
    if judged.kind == SHORT:
        return (Slip("nothing", "M8", AGAIN_STEADY),)
    return (_followed("nothing"),)


def _solution(judged: Judged) -> str:
    one, (change, *others) = judged.reading, judged.changes
    signs = signs_in_words(one.quality)
    at, shows = resting(one)
    signal = one.quality.signal_mm or 0.0
    found = (
        f"The foramen signal came at {signal:.1f} mm, midway between where it came and where it "
        "was given up."
    )
    added = (
        f"At the first rest the display said {shows:.1f} with the file at {at:.1f} mm; the sum of "
        "the two is no place in this canal."
        if abs(at + shows - signal) >= FAR_MM
        else ""
    )
    then = (
        f"{WHY.get(change, '')} After the change (`{change}`) the same canal gave a trace that can "
        f"be used, with its signal at {judged.signal_then_mm:.1f} mm."
    )
    also = f"Here `{'` and `'.join(others)}` helped as well." if others else ""
    if judged.kind == SOUND:
        rest = [found, added, "It agrees with the estimated length. Nothing has to be changed."]
        if others:
            rest.append(f"Putting right what is written down (`{others[0]}`) is no mistake.")
    elif judged.kind == SHORT:
        rest = [
            found,
            "The three signs hold, so whoever calls the trace usable is right. It is short all the "
            f"same: this canal ends at {one.foramen_mm:.1f} mm. No sign could show that. What is "
            f"written beside the trace could: the signal came {one.estimated_mm - signal:.1f} mm "
            "before the estimated length, in a canal that was nearly empty. Paper points or a "
            "radiograph would have shown it too.",
            added,
            then,
            also,
        ]
    else:
        rest = ["No depth is taken from a trace whose signs fail.", then, also]
    return "\n\n".join([signs, *(part for part in rest if part)])
