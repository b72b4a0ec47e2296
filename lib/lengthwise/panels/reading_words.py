"""What the panel of electronic readings says in words. Rounding happens here."""

from __future__ import annotations

from lengthwise.evidence.tenths import apart_mm
from lengthwise.marking.sheet import Sheet
from lengthwise.panels.reading_case import Reading, world
from lengthwise.panels.reading_setting import END_MM

SHOWN_MM = 0.05
"""A difference below this is not told: the screen shows tenths."""

SIGNS = (
    "It advances steadily, without jumps.",
    "It moves when the file moves, and only then.",
    "It reaches the foramen signal and gives it up, each time at the same depth.",
)
NAMES = {True: "true", False: "not true"}


def place(past_mm: float) -> str:
    """Where something lies against the foramen.

    >>> place(-0.62), place(0.3), place(0.01)
    ('0.6 mm short of the foramen', '0.3 mm past the foramen', 'at the foramen')
    """
    if abs(past_mm) < SHOWN_MM:
        return "at the foramen"
    return f"{abs(past_mm):.1f} mm {'short of' if past_mm < 0 else 'past'} the foramen"


def indicated_words(reading: Reading, sample: int) -> str:
    """What the display says at a sample; at the end of its curve it says no more than that."""
    value = float(reading.indicated[sample])
    curve = world()[1].curve
    if value != value:
        return "nothing"
    if value >= curve.short_end_mm[0]:
        return f"{value:.1f} or more"
    if value <= curve.past_end_mm[0]:
        return f"{value:.1f} or less"
    return f"{value:.1f}".replace("-0.0", "0.0")


def sentence_of(a: Reading, b: Reading, moment_s: float) -> str:
    """What the picture shows at a moment, in numbers."""
    at = b.sample_at(moment_s)
    return (
        f"After {moment_s:.1f} s the tip in B is {place(float(b.tip_mm[at]))}; the display says "
        f"{indicated_words(b, at)}. In A it says {indicated_words(a, at)}, with the tip "
        f"{place(float(a.tip_mm[at]))}. {found_words(b)}"
    )


def found_words(b: Reading) -> str:
    """What the whole trace says about the foramen, and what is so."""
    if b.binds_mm < END_MM:
        start = f"This file binds {place(b.binds_mm)} and goes no further. "
    else:
        start = ""
    if b.quality.signal_mm is None:
        return f"{start}In the whole motion B gives no foramen signal."
    off = place(apart_mm(b.quality.signal_mm, b.canal.foramen_mm))
    return f"{start}In the whole motion B's foramen signal comes {off}."


def signs_sheet(a: Reading, b: Reading) -> Sheet:
    """The three signs of both traces, what can be made of them, and what is so."""
    both = (a, b)
    rows: list[tuple[str, ...]] = [
        (f"{number}. {sign}", *(_sign(each, number - 1) for each in both))
        for number, sign in enumerate(SIGNS, start=1)
    ]
    rows.append(("So", *(_so(each) for each in both)))
    rows.append(("Foramen by the signal (mm)", *(_signal(each) for each in both)))
    rows.append(("Foramen as it is (mm)", *(f"{each.canal.foramen_mm:.1f}" for each in both)))
    return Sheet("Three signs", ("Sign", "A", "B"), tuple(rows))


def _sign(reading: Reading, i: int) -> str:
    sign = reading.quality.signs[i]
    return f"{NAMES[sign.holds]}: {sign.sentence}"


def _so(reading: Reading) -> str:
    if all(sign.holds for sign in reading.quality.signs):
        return "it can be used, beside another source"
    return "change something, take it again"


def _signal(reading: Reading) -> str:
    signal = reading.quality.signal_mm
    return "none" if signal is None else f"{signal:.1f}"
