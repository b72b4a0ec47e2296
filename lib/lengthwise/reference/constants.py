"""The constants of the model, each a `Quantity`.

Nothing else in the library has a bare physical number. "Trust" is the probability, before the
case is looked at, that a source is sound: that it did what the procedure says it does.
"""

from .quantity import Quantity

_JUDGED = "judgement of the authors; nobody has measured it for this use"

# --- the grid on which a length is worked out -----------------------------------------------------
GRID_STEP_MM = Quantity(0.01, "mm", "a tenth of what a ruler shows", "assumption", 0.005, 0.02)
LENGTH_LOW_MM = Quantity(6.0, "mm", "shorter than any tooth of the tables", "assumption", 5, 8)
LENGTH_HIGH_MM = Quantity(44.0, "mm", "longer than any tooth of the tables", "assumption", 40, 45)

# --- the foramen, shared by paper and reading -----------------------------------------------------
FORAMEN_DIAMETER_MM = Quantity(
    0.585,
    "mm",
    "geometric mean of Kuttler 1955, 0.502 (18-25 y) and 0.681 (55 y and more)",
    "derived",
)
FORAMEN_DIAMETER_LOG_SD = Quantity(0.30, "1", _JUDGED, "assumption", 0.20, 0.45)
FORAMEN_ANGLE_SD_DEG = Quantity(
    25.0, "degree", "slope of the foramen's plane, half-normal; " + _JUDGED, "assumption", 15, 35
)

# --- paper points ---------------------------------------------------------------------------------
PAPER_K_MM_PER_SQRT_S = Quantity(
    0.30,
    "mm/sqrt(s)",
    "brief touch of tissue, limited by supply; larger contradicts the repeats of Marcos-Arenal "
    "et al. 2009, Oral Surg 108:e101, which agree within 0.19 mm",
    "assumption",
    0.15,
    0.40,
)
PAPER_K_RELATIVE_SD = Quantity(0.10, "1", "between canals; " + _JUDGED, "assumption", 0.05, 0.20)
CONTACT_TIME_RELATIVE_SD = Quantity(
    0.25, "1", "a counted second; " + _JUDGED, "assumption", 0.1, 0.4
)
ENTRANCE_LENGTH_MM = Quantity(
    1.5, "mm", "entrance resistance as a length of paper; " + _JUDGED, "assumption", 0.5, 3.0
)
ENTRANCE_LAW_PROBABILITY = Quantity(
    0.5,
    "1",
    "two wicking laws agree at 1 s and nothing decides between them",
    "assumption",
    0.2,
    0.8,
)
MENISCUS_MM = Quantity(
    0.10, "mm", "spread of the liquid's edge; " + _JUDGED, "assumption", 0.0, 0.2
)
PLACEMENT_SD_MM = Quantity(
    0.20, "mm", "tweezers, ruler and stop in everyday use; " + _JUDGED, "assumption", 0.15, 0.25
)
MARK_READING_SD_MM = Quantity(
    0.10, "mm", "a mark read on a ruler; " + _JUDGED, "assumption", 0.05, 0.2
)
PAPER_BETWEEN_CANALS_SD_MM = Quantity(
    0.20,
    "mm",
    "what repeats in one canal share; 62 of 71 within 0.5 mm (Marcos-Arenal et al. 2009) leaves "
    "0.16 to 0.33",
    "assumption",
    0.16,
    0.33,
)
FALSE_DRY_RAN_FREELY = Quantity(
    0.02, "1", "dry although past; " + _JUDGED, "assumption", 0.005, 0.05
)
FALSE_DRY_NOT_RECORDED = Quantity(
    0.06, "1", "dry although past; " + _JUDGED, "assumption", 0.02, 0.15
)
FALSE_DRY_BINDING = Quantity(
    0.80, "1", "dry although past: binding ends it short; " + _JUDGED, "assumption", 0.5, 0.95
)
PAPER_TRUST = Quantity(0.90, "1", "a canal dried as taught; " + _JUDGED, "assumption", 0.75, 0.97)
PAPER_TRUST_MOIST = Quantity(
    0.60, "1", "moist, bleeding or turbid; " + _JUDGED, "assumption", 0.4, 0.8
)
PAPER_TRUST_FLOODED = Quantity(
    0.15, "1", "liquid stands in the canal; " + _JUDGED, "assumption", 0.02, 0.3
)
BOUND_SHARE = Quantity(
    0.30, "1", "of unsound attempts, those in which points bind; " + _JUDGED, "assumption", 0.1, 0.5
)
BOUND_DRY = Quantity(0.95, "1", "a bound point comes out dry; " + _JUDGED, "assumption", 0.8, 0.99)
FLOODED_SHARE = Quantity(
    0.10, "1", "of unsound attempts, those that tell nothing; " + _JUDGED, "assumption", 0.02, 0.3
)
STEADY_SHARE = Quantity(
    0.30,
    "1",
    "of unsound attempts, those in which liquid comes back as fast as points take it; " + _JUDGED,
    "assumption",
    0.1,
    0.5,
)
DRIFT_SLOW_MM = Quantity(
    0.3, "mm", "a point lowers the liquid of a wide canal; from what a point holds", "derived"
)
DRIFT_FAST_MM = Quantity(
    0.6, "mm", "a point lowers the liquid of a narrow canal; from what a point holds", "derived"
)
POOL_UPTAKE_MEAN_MM = Quantity(
    1.0,
    "mm",
    "what a point takes up from liquid that stands free: about a millimetre of blood in a second, "
    "more of thinner liquids, and no more than is there; " + _JUDGED,
    "assumption",
    0.5,
    1.8,
)
POOL_UPTAKE_SD_MM = Quantity(
    0.6, "mm", "between canals and liquids; " + _JUDGED, "assumption", 0.3, 0.8
)
POOL_HEIGHT_MEAN_MM = Quantity(
    0.60, "mm", "liquid left coronal of the foramen; " + _JUDGED, "assumption", 0.2, 1.5
)
POOL_SCATTER_SD_MM = Quantity(
    0.25, "mm", "its level from point to point; " + _JUDGED, "assumption", 0.1, 0.5
)

# --- radiographs ----------------------------------------------------------------------------------
FILM_BIAS_PARALLELING_MM = Quantity(
    -0.13, "mm", "a file truly 1.00 short read 0.87; 33 molar canals in vitro", "seen"
)
FILM_BIAS_BISECTING_MM = Quantity(
    -0.61, "mm", "a file truly 1.00 short read 0.39; 33 molar canals in vitro", "seen"
)
FILM_BIAS_NOT_RECORDED_MM = Quantity(-0.37, "mm", "mean of the two techniques", "derived")
FILM_BIAS_BELIEVED = Quantity(
    0.2,
    "1",
    "that a film with a file has the bias read in vitro. It was read once, in molars (12 of 32 "
    "teeth): there as likely as not; a file projected in one straight root has none; " + _JUDGED,
    "assumption",
    0.0,
    1.0,
)
FILM_READER_SD_PARALLELING_MM = Quantity(
    0.28, "mm", "two marks of 0.20 mm each (radiography.READER_SD_MM); where tooth and receptor "
    "stand parallel, projection adds nothing", "assumption", 0.2, 0.5,
)  # fmt: skip
FILM_READER_SD_BISECTING_MM = Quantity(
    0.33, "mm", "two marks of 0.20 mm each, and what a slanting projection adds to them",
    "assumption", 0.2, 0.7,
)  # fmt: skip
FILM_READER_SD_NOT_RECORDED_MM = Quantity(
    0.33, "mm", "that of the wider technique: the reader is the same", "assumption", 0.2, 0.7
)
MAGNIFICATION_PARALLELING = Quantity(
    1.065, "1", "f/(f-d): 40 and 2 cm give 1.053, 40 and 3 cm 1.081", "derived"
)
MAGNIFICATION_BISECTING = Quantity(
    1.06, "1", "f/(f-d) and angles; " + _JUDGED, "assumption", 1.0, 1.11
)
MAGNIFICATION_NOT_RECORDED = Quantity(1.06, "1", "f/(f-d); " + _JUDGED, "assumption", 1.0, 1.11)
MAGNIFICATION_SD_PARALLELING = Quantity(
    0.01, "1", "1.053 to 1.081 evenly has an SD of 0.008; a tilted holder adds to it",
    "assumption", 0.008, 0.03,
)  # fmt: skip
MAGNIFICATION_SD_BISECTING = Quantity(0.06, "1", _JUDGED, "assumption", 0.03, 0.10)
MAGNIFICATION_SD_NOT_RECORDED = Quantity(0.05, "1", _JUDGED, "assumption", 0.02, 0.10)
FILM_TRUST = Quantity(
    0.95, "1", "right tooth, right end, right ruler; " + _JUDGED, "assumption", 0.85, 0.99
)
FILM_UNSOUND_WIDENING = Quantity(
    4.0, "1", "spread of a misread film; " + _JUDGED, "assumption", 3, 6
)

# --- tactile stop ---------------------------------------------------------------------------------
STOP_SHORT_OF_FORAMEN_MM = Quantity(
    0.70,
    "mm",
    "constriction to foramen: a round figure near 0.685, the mean of Kuttler 1955 (0.524, 0.659) "
    "and of Eur J Dent, doi 10.4103/ejd.ejd_54_18 (0.709, 0.847)",
    "assumption",
    0.52,
    0.85,
)
STOP_SD_MM = Quantity(
    0.80, "mm", "a constriction that is often not there: of files of a size that most simulated "
    "canals stop, one in ten goes as far as the foramen", "assumption", 0.4, 1.0,
)  # fmt: skip
STOP_EARLY_MEAN_MM = Quantity(2.0, "mm", "caught coronally; " + _JUDGED, "assumption", 1.0, 4.0)
STOP_TRUST_BEFORE_FLARE = Quantity(
    0.40, "1", "first stop is more often coronal; " + _JUDGED, "assumption", 0.2, 0.6
)
STOP_TRUST_AFTER_FLARE = Quantity(0.60, "1", _JUDGED, "assumption", 0.4, 0.8)

# --- the average tooth ----------------------------------------------------------------------------
AVERAGE_TRUST = Quantity(
    0.98, "1", "this tooth belongs to the table's population", "assumption", 0.95, 0.995
)
AVERAGE_TRUST_WORN = Quantity(
    0.95, "1", "and lost no more than the most below; " + _JUDGED, "assumption", 0.8, 0.98
)
AVERAGE_TRUST_PREPARED = Quantity(
    0.90, "1", "and lost no more than the most below, nor was built up before; " + _JUDGED,
    "assumption", 0.7, 0.98,
)  # fmt: skip
AVERAGE_TRUST_NOT_RECORDED = Quantity(
    0.95, "1", "crown not described; " + _JUDGED, "assumption", 0.9, 0.98
)

# The tables are of whole crowns: from a reference that has been lowered, a length is shorter.
WORN_LEAST_MM = Quantity(0.2, "mm", "what shows as wear; " + _JUDGED, "assumption", 0.0, 0.5)
WORN_MOST_MM = Quantity(
    1.5, "mm", "0.03 to 0.04 mm of enamel a year where teeth meet, for 40 years (Lambrechts et "
    "al. 1989, J Dent Res 68:1752, from memory)", "assumption", 1.0, 3.0,
)  # fmt: skip
PREPARED_LEAST_MM = Quantity(
    1.0, "mm", "least taken off a cusp for a metal crown, 1 to 1.5 mm (common practice)",
    "assumption", 0.5, 1.5,
)  # fmt: skip
PREPARED_MOST_MM = Quantity(
    2.5, "mm", "most taken off an edge for a ceramic crown, 2 mm (common practice), and some that "
    "had worn off before", "assumption", 2.0, 4.0,
)  # fmt: skip

# --- shortening of a curved canal through flaring and shaping -------------------------------------
SHORTENING_FLARE_MM = Quantity(
    0.17, "mm", "access and flare; Schroeder, Walton & Rivera 2002, J Endod 28", "seen"
)
SHORTENING_FLARE_SD_MM = Quantity(0.12, "mm", _JUDGED, "assumption", 0.05, 0.25)
SHORTENING_SHAPING_MM = Quantity(
    0.22,
    "mm",
    "after flaring 0.36 with steel, 0.07 with nickel-titanium; Davis et al. 2002, "
    "J Endod 28:438; their mean",
    "derived",
)
SHORTENING_SHAPING_SD_MM = Quantity(
    0.18, "mm", "half the difference and some; " + _JUDGED, "assumption", 0.1, 0.4
)

# --- what an error costs: the loss ----------------------------------------------------------------
LOSS_SHORT_PER_MM = Quantity(
    1.0, "1/mm", "the unit: a millimetre short of the target", "assumption", 1, 1
)
LOSS_LONG_PER_MM = Quantity(
    1.5, "1/mm", "between target and foramen; " + _JUDGED, "assumption", 1, 3
)
LOSS_PAST_PER_MM = Quantity(4.0, "1/mm", "added past the foramen; " + _JUDGED, "assumption", 2, 8)
LOSS_PAST_NEAR_NERVE_PER_MM = Quantity(
    8.0, "1/mm", "near nerve or sinus; " + _JUDGED, "assumption", 4, 16
)
LOSS_FAR_SHORT_BEYOND_MM = Quantity(
    2.0,
    "mm",
    "Wu, Wesselink & Walton 2000, Oral Surg 89:99; Sjogren et al. 1990, J Endod 16:498",
    "second-hand",
)
LOSS_FAR_SHORT_NECROTIC_PER_MM = Quantity(
    2.0, "1/mm", "infection left behind; " + _JUDGED, "assumption", 1, 4
)
LOSS_FAR_SHORT_OTHER_PER_MM = Quantity(
    0.5, "1/mm", "pulp not recorded: in between; " + _JUDGED, "assumption", 0, 2
)
SETTABLE_STEP_MM = Quantity(
    0.25, "mm", "a stop is set to a quarter of a millimetre", "common practice"
)
TARGET_SHORT_OF_FORAMEN_MM = Quantity(
    0.5, "mm", "working length 0.5 to 1.0 short of the foramen", "seen"
)
CONFIRMED_FROM_MM = Quantity(
    0.5, "mm", "short of the radiographic apex, at least, is where a file at the working length is "
    "to be seen (0.5 to 2 mm short is aimed at)", "common practice",
)  # fmt: skip

# --- when no length is taken yet ------------------------------------------------------------------
CONFLICT_ASK_MM = Quantity(
    1.0, "mm", "sources that disagree by more after one repeat: stop", "common practice"
)
CONFLICT_STANDARDISED = Quantity(
    2.5, "1", "of the difference's own uncertainty; " + _JUDGED, "assumption", 2, 3
)
WIDEST_INTERVAL_MM = Quantity(
    2.0, "mm", "of a 90 % interval on which a length is taken; " + _JUDGED, "assumption", 1.5, 3.0
)
PAPER_NOT_DRY_BELOW = Quantity(
    0.5,
    "1",
    "paper believed less than this after the fact: dry again; " + _JUDGED,
    "assumption",
    0.3,
    0.7,
)
