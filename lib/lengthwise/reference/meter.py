"""How an electronic reading is taken and what disturbs it: named figures, each a `Quantity`.

Each disturbance is drawn from a distribution that reaches from nothing to ruin; nobody has
counted how often which size occurs. Spreads of logarithms ("log SD") have no unit.
"""

from lengthwise.reference.quantity import Quantity

_JUDGED = "judgement of the authors; nobody has measured it for this use"

# --- the display ----------------------------------------------------------------------------------
LAG_S = Quantity(
    0.3, "s", "time constant of the display, first order; " + _JUDGED, "assumption", 0.1, 0.8
)
QUOTIENT_NOISE = Quantity(
    0.004, "1", "SD of the shown quotient from sample to sample; " + _JUDGED,
    "assumption", 0.001, 0.01,
)  # fmt: skip
QUOTIENT_NOISE_LOG_SD = Quantity(
    0.7, "1", "between readings: an electrode that holds badly, mains nearby; " + _JUDGED,
    "assumption", 0.3, 1.5,
)  # fmt: skip
LOST_ABOVE_OHM = Quantity(
    150_000.0, "ohm", "at the low frequency, above which nothing is shown; " + _JUDGED,
    "assumption", 50_000.0, 500_000.0,
)  # fmt: skip

# --- the hand -------------------------------------------------------------------------------------
SLOWEST_HZ = Quantity(10.0, "Hz", "samples a second; " + _JUDGED, "assumption", 5.0, 20.0)
FASTEST_HZ = Quantity(20.0, "Hz", "samples a second; " + _JUDGED, "assumption", 10.0, 50.0)
STEP_MM = Quantity(
    0.03, "mm", "from sample to sample of a file that moves: 0.3 mm a second at 10 Hz; " + _JUDGED,
    "assumption", 0.01, 0.1,
)  # fmt: skip
APPROACH_MM = Quantity(
    4.5, "mm", "before the furthest place, where the trace begins; " + _JUDGED,
    "assumption", 3.0, 8.0,
)  # fmt: skip
WAY_STOP_MM = Quantity(
    2.5, "mm", "before the furthest place, where the file rests on its way; " + _JUDGED,
    "assumption", 2.0, 4.0,
)  # fmt: skip
REST_SAMPLES = Quantity(
    12.0, "1", "samples for which the file rests, about a second; " + _JUDGED,
    "assumption", 8.0, 30.0,
)  # fmt: skip
REACTION_SAMPLES = Quantity(
    4.0, "1", "samples that a hand goes on after the foramen signal; " + _JUDGED,
    "assumption", 1.0, 10.0,
)  # fmt: skip
BELIEVED_WITHIN_MM = Quantity(
    2.0, "mm", "of the estimated length; a signal that comes earlier stops no hand; " + _JUDGED,
    "assumption", 1.0, 3.0,
)  # fmt: skip
BACK_MM = Quantity(1.0, "mm", "withdrawn, to see the signal go", "common practice")
ESTIMATE_SD_MM = Quantity(
    0.6, "mm", "of the length estimated from a radiograph; " + _JUDGED, "assumption", 0.3, 1.0
)
BEYOND_ESTIMATE_MM = Quantity(
    1.5, "mm", "past the estimated length no file is pushed; " + _JUDGED, "assumption", 0.5, 2.0
)
STOP_SD_MM = Quantity(
    0.08, "mm", "a stop set and read by hand, the same through a trace; " + _JUDGED,
    "assumption", 0.03, 0.15,
)  # fmt: skip

# --- what the canal holds -------------------------------------------------------------------------
LIQUID_LOG_SD = Quantity(
    0.7, "1", "of the irrigant's resistivity about saline's: from 5 % hypochlorite to a little "
    "worse than water of the body; " + _JUDGED, "assumption", 0.3, 1.2,
)  # fmt: skip
BLOOD_SHARE_MEAN = Quantity(
    0.2, "1", "of the liquid; most canals hold little, some hold nothing else; " + _JUDGED,
    "assumption", 0.05, 0.4,
)  # fmt: skip
BLOOD_SHARE_COUNT = Quantity(
    1.0, "1", "sum of the two exponents of its beta distribution; " + _JUDGED,
    "assumption", 0.5, 3.0,
)  # fmt: skip
LEVEL_MEDIAN_MM = Quantity(
    8.0, "mm", "of liquid above the foramen while reading; " + _JUDGED, "assumption", 2.0, 16.0
)
LEVEL_LOG_SD = Quantity(1.2, "1", "from dried to full; " + _JUDGED, "assumption", 0.6, 2.0)
FILM_LOG_SD = Quantity(0.6, "1", "of the film on a dried wall; " + _JUDGED, "assumption", 0.3, 1.0)
DRIED_LEVEL_MM = Quantity(
    2.0, "mm", "of liquid, below which one writes down: dry; " + _JUDGED, "assumption", 0.5, 4.0
)

# --- contacts, leaks, a loose file ----------------------------------------------------------------
CONTACT_LOG_SD = Quantity(1.0, "1", "of a metal contact's resistance; " + _JUDGED,
                          "assumption", 0.5, 1.5)  # fmt: skip
CONTACT_AREA_LOG_SD = Quantity(1.2, "1", "of its metal in liquid; " + _JUDGED,
                               "assumption", 0.5, 2.0)  # fmt: skip
TOUCHES_PER_S = Quantity(
    0.003, "1/s", "median rate at which metal is touched; most files never touch any; " + _JUDGED,
    "assumption", 0.0003, 0.03,
)  # fmt: skip
TOUCHES_LOG_SD = Quantity(2.5, "1", _JUDGED, "assumption", 1.5, 3.5)
PARTS_PER_S = Quantity(
    0.7, "1/s", "median rate at which a contact ends; " + _JUDGED, "assumption", 0.1, 3.0
)
PARTS_LOG_SD = Quantity(1.5, "1", _JUDGED, "assumption", 0.5, 2.5)
LEAK_MEDIAN_OHM = Quantity(
    500_000.0, "ohm", "from the file's shaft over the tooth to the gum: hardly any current under "
    "a rubber dam, some kiloohm over a wet tooth; " + _JUDGED, "assumption", 50_000.0, 5e6,
)  # fmt: skip
LEAK_LOG_SD = Quantity(2.0, "1", _JUDGED, "assumption", 1.0, 3.0)
LEAK_MM2 = Quantity(
    3.0, "mm^2", "of the shaft in that moisture; " + _JUDGED, "assumption", 0.5, 15.0
)
WET_WALL_FILM = Quantity(
    1.0, "1", "of the usual film, more of it on a wall that is wet all over; " + _JUDGED,
    "assumption", 0.0, 4.0,
)  # fmt: skip
FLOODED_MEDIAN_OHM = Quantity(
    500_000.0, "ohm", "from the liquid at the orifice to the gum: a dry chamber lets hardly any "
    "current through, a flooded one some kiloohm; " + _JUDGED, "assumption", 50_000.0, 5e6,
)  # fmt: skip
FLOODED_LOG_SD = Quantity(2.0, "1", _JUDGED, "assumption", 1.0, 3.0)
SWING_SD = Quantity(
    0.6, "1", "of the half-normal log spread of the film that a loose file meets; " + _JUDGED,
    "assumption", 0.2, 1.5,
)  # fmt: skip
SWINGS_PER_S = Quantity(
    2.0, "1/s", "rate at which a loose file's contact with the wall changes; " + _JUDGED,
    "assumption", 0.5, 5.0,
)  # fmt: skip
LOSES_PER_S = Quantity(
    0.003, "1/s", "median rate at which the clip on the file loses it; " + _JUDGED,
    "assumption", 0.0003, 0.03,
)  # fmt: skip
LOSES_LOG_SD = Quantity(2.0, "1", _JUDGED, "assumption", 1.0, 3.0)
REGAINS_PER_S = Quantity(
    3.0, "1/s", "rate at which it is found again; " + _JUDGED, "assumption", 0.5, 10.0
)

# --- between patients and files -------------------------------------------------------------------
BODY_LOG_SD = Quantity(
    0.3, "1", "of body and electrode between patients; " + _JUDGED, "assumption", 0.1, 0.6
)
INTERFACE_LOG_SD = Quantity(
    0.2, "1", "of the interface between files; " + _JUDGED, "assumption", 0.05, 0.5
)
