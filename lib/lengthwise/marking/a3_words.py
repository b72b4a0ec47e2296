"""Assignment a3 in words: what is written down beside a trace, why a change helps, what is told."""

import numpy as np

from lengthwise.reconciliation.trace_quality import TraceQuality

from .a3_readings import HALF_FULL_MM, MOIST_OHM_M, Reading
from .sheet import Sheet

USABLE_WORDS = ("yes", "no")
SIGN_WORDS = ("jumps", "follows", "signal", "none")
CHANGE_WORDS = (
    "nothing", "off_metal", "dry_crown", "fill", "dry_canal", "larger_file", "flare",
)  # fmt: skip

AGAIN_FOLLOWED = (
    "Your answers look as if the number on the display were true whatever the trace does. Look "
    "again at the three signs, and at what the file did when the display moved (lesson 03, *Three "
    "signs* and *When something comes and goes*)."
)
AGAIN_STEADY = (
    "Your answers look as if a steady trace were an accurate one. Look again at the estimated "
    "length and at the liquid written down beside it, and at what no trace can show (lesson 03, "
    "*Steady, and yet not right*)."
)
AGAIN_ADDED = (
    "Your answers look as if the number on the display were millimetres to be added to the depth "
    "of the file. Look again at what 1.0 means in another canal (lesson 03, *Only the foramen "
    "signal is a landmark*)."
)

WHY = {
    "off_metal": "While the file touches the filling, current runs through the metal to the gum "
    "instead of through the end of the canal, and the display jumps towards its signal.",
    "dry_crown": "Current that runs over the wet crown to the gum goes around the end of the "
    "canal. What the file does there hardly changes the whole, so the signal does not come.",
    "fill": "In a canal that is nearly empty the current depends on where the file happens to meet "
    "liquid and how well it touches the wet wall, not on the end of the canal.",
    "larger_file": "A thick file leaves less room beside it, so that liquid and wall matter less.",
    "dry_canal": "Without a pool at its end the canal gives no false signal at the pool's surface.",
}
"""Why each change helps where it does."""

_CROWN = {
    "leak": "wet: liquid runs from the file's shaft over the crown to the gum",
    "flooded": "the chamber is flooded up to its edge, in touch with the gum",
}


def told_beside(reading: Reading) -> Sheet:
    """What the chart says beside the trace."""
    filling = "a filling, touched by the file now and then"
    rows = (
        ("estimated working length", f"{reading.estimated_mm:.1f} mm, from a radiograph"),
        ("file on the meter", f"size {reading.size}"),
        ("thickest file that would reach", f"size {reading.thickest}"),
        ("liquid in the canal", _liquid(reading)),
        ("crown and chamber", _CROWN.get(reading.trouble, "dry")),
        ("metal beside the file", filling if reading.trouble == "metal" else "none"),
    )
    return Sheet("Written down beside the trace", ("about", "recorded"), rows)


def _liquid(reading: Reading) -> str:
    c = reading.conditions
    conducts_well = float(np.asarray(c.irrigant_ohm_m)[0]) <= MOIST_OHM_M[1]
    name = "hypochlorite" if conducts_well else "saline"
    if reading.trouble == "loose":
        return "nearly none: dried with points, the file feels loose"
    if float(np.asarray(c.blood_share)[0]) > 0.5:
        name = "blood"
    if reading.trouble == "moist":
        return f"nearly none: emptied after {name}, moist at its end"
    amount = "half full" if float(np.asarray(c.level_mm)[0]) >= HALF_FULL_MM else "moist"
    return f"full of {name}" if reading.full else f"{amount} of {name}"


def signs_in_words(quality: TraceQuality) -> str:
    """What was found for each sign, as a list."""
    return "\n".join(f"{n}. {sign.sentence}" for n, sign in enumerate(quality.signs, start=1))
