"""What counts as what on the trace of an electronic reading: named figures, each a `Quantity`."""

from lengthwise.reference.quantity import Quantity

_JUDGED = "judgement of the authors; nobody has measured it for this use"

MOVES_MM_PER_S = Quantity(
    0.05, "mm/s", "a file slower than this rests; " + _JUDGED, "assumption", 0.01, 0.2
)
LONGEST_GAP_S = Quantity(
    2.0, "s", "between samples; what happens in a longer gap is not known; " + _JUDGED,
    "assumption", 1.0, 5.0,
)  # fmt: skip
NEAR = Quantity(
    1.0, "1", "indicated value below which the curve is steep enough for a jump to tell; "
    + _JUDGED, "assumption", 0.7, 2.0,
)  # fmt: skip
GIVEN_UP = Quantity(
    0.15, "1", "indicated value at which the foramen signal is clearly gone; " + _JUDGED,
    "assumption", 0.05, 0.3,
)  # fmt: skip
JUMP = Quantity(
    0.6, "1", "change of the indicated value between two samples that is called a jump; "
    + _JUDGED, "assumption", 0.3, 1.0,
)  # fmt: skip
LEAST_TRAVEL_MM = Quantity(
    0.2, "mm", "of motion near the signal, over which going backward is counted; " + _JUDGED,
    "assumption", 0.1, 0.5,
)  # fmt: skip
A_LITTLE_SHORT_MM = Quantity(
    0.3, "mm", "short of the signal: how steeply it comes; " + _JUDGED, "assumption", 0.2, 0.5
)
FURTHER_SHORT_MM = Quantity(
    1.0, "mm", "short of the signal: where the canal is told from another; " + _JUDGED,
    "assumption", 0.7, 1.5,
)  # fmt: skip
FEWEST_SAMPLES = Quantity(
    8.0, "1", "with a value, below which a trace is none; " + _JUDGED, "assumption", 5.0, 20.0
)
LEAST_DEPTHS_MM = Quantity(
    0.2, "mm", "between the ends of a motion, below which the file did not move; " + _JUDGED,
    "assumption", 0.1, 0.5,
)  # fmt: skip

# --- when a sign holds: what some nine in ten of the bench's usable traces do ---------------------
BACKWARD_HOLDS = Quantity(
    0.7, "1/mm", "indicated value gone backward for each mm moved; " + _JUDGED,
    "assumption", 0.2, 1.0,
)  # fmt: skip
RESTLESS_HOLDS = Quantity(
    0.1, "1", "change from sample to sample at rest; " + _JUDGED, "assumption", 0.05, 0.2
)
APART_HOLDS_MM = Quantity(
    0.3, "mm", "between foramen signals that repeat; " + _JUDGED, "assumption", 0.2, 0.5
)

# --- how well a trace alone tells the depth of its signal -----------------------------------------
LEAST_SIGNAL_SD_MM = Quantity(
    0.05, "mm", "published repeatability 0.03 to 0.07", "assumption", 0.03, 0.1
)
ONE_WAY_SD_MM = Quantity(
    0.1, "mm", "added where the signal was only seen going in, so that the display's lag does not "
    "cancel; " + _JUDGED, "assumption", 0.05, 0.2,
)  # fmt: skip
CLOSE_ENOUGH_MM = Quantity(
    0.5, "mm", "of the foramen: a trace that can be used; as published shares count",
    "common practice",
)  # fmt: skip
