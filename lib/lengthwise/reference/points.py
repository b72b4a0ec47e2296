"""What happens when a paper point meets a wet canal: named figures, each a `Quantity`."""

from lengthwise.reference.quantity import Quantity

_JUDGED = "judgement of the authors; nobody has measured it for this use"

# --- paper and liquid -----------------------------------------------------------------------------
WATER_K_MM_PER_SQRT_S = Quantity(
    3.0, "mm/sqrt(s)", "laboratory cellulose paper, 130 mm in 30 min", "from memory"
)
HELD_SHARE = Quantity(
    0.5, "1", "of a wetted point's own volume; " + _JUDGED, "assumption", 0.3, 0.8
)
PAPER_GIVES_MM = Quantity(
    0.04, "mm", "of a point's diameter, before it binds; " + _JUDGED, "assumption", 0.02, 0.08
)
STUDY_PLACEMENT_SD_MM = Quantity(
    0.06,
    "mm",
    "under the conditions of a study; repeats within 0.19 mm leave 0.069 for placing and reading "
    "together (Marcos-Arenal et al. 2009, Oral Surg 108:e101)",
    "derived",
)

POINT_CLEARANCE_MM = Quantity(
    0.10, "mm", "between a canal and a point two sizes thinner, at a bend", "derived"
)
USUAL_POINT_MM = Quantity(
    28.0, "mm", "as in the table of instruments; lengths differ, measure yours", "common practice"
)
LONGEST_POINT_MM = Quantity(
    35.0, "mm", "beyond any absorbent point that the table of instruments knows; a limit against "
    "slips of the pen; " + _JUDGED, "assumption", 30.0, 40.0,
)  # fmt: skip
LEAST_MARK_MM = Quantity(
    0.05, "mm", "a mark that is seen at all; half of what a ruler is read to; " + _JUDGED,
    "assumption", 0.02, 0.1,
)  # fmt: skip
SIDE_MARK_MM = Quantity(
    1.0, "mm", "a mark on a point's side reaches this far above the opening that it passes; "
    + _JUDGED, "assumption", 0.3, 2.0,
)  # fmt: skip
EDGE_READING_SHARE = Quantity(
    0.5, "1", "of the error of a mark: its two edges are compared with each other; " + _JUDGED,
    "assumption", 0.3, 1.0,
)  # fmt: skip
EDGE_TOLD_SD = Quantity(
    1.5, "1", "times the error of a mark, from which an edge is told to be oblique; " + _JUDGED,
    "assumption", 1.0, 3.0,
)  # fmt: skip

# --- points that do not run -----------------------------------------------------------------------
FOLD_PER_DEGREE = Quantity(
    0.0005, "1/degree", "chance of a fold per degree of curvature, shaped; " + _JUDGED,
    "assumption", 0.0001, 0.002,
)  # fmt: skip
FOLD_UNSHAPED = Quantity(
    4.0, "1", "times as often before shaping; " + _JUDGED, "assumption", 2.0, 8.0
)
FOLD_SHORT_MEAN_MM = Quantity(
    1.5, "mm", "what a fold keeps a tip short; " + _JUDGED, "assumption", 0.5, 3.0
)
MOST_FOLDS = Quantity(
    0.9, "1", "chance of a fold in the most curved canal; " + _JUDGED, "assumption", 0.5, 1.0
)
STUCK_NOTICED = Quantity(
    0.85, "1", "of bound or folded points, felt by a careful hand; " + _JUDGED,
    "assumption", 0.6, 0.95,
)  # fmt: skip

FELT_WHERE_BOUND = Quantity(
    0.75, "1", "of points in a canal in which points stick; " + _JUDGED, "assumption", 0.5, 0.9
)
FELT_ELSEWHERE = Quantity(
    0.02,
    "1",
    "of points in any other canal, felt not to run; " + _JUDGED,
    "assumption",
    0.005,
    0.05,
)

# --- the canal as it is prepared ------------------------------------------------------------------
PREPARED_WIDER_MM = Quantity(
    0.10, "mm", "than the constriction: two or three sizes", "common practice"
)
PREPARED_TAPER = Quantity(0.04, "mm/mm", "of a prepared canal", "common practice")
SIZE_STEP_MM = Quantity(
    0.05, "mm", "from size to size between 15 and 60, ISO 3630-1", "from memory"
)
NARROWEST_MM = Quantity(
    0.05, "mm", "no canal ends narrower, however its widths are carried on; " + _JUDGED,
    "assumption", 0.02, 0.1,
)  # fmt: skip
WIDENS_WITHIN_MM = Quantity(
    0.3, "mm", "above a constriction the canal widens over at least this length; " + _JUDGED,
    "assumption", 0.1, 1.0,
)  # fmt: skip
WIDTHS_APART_MM = Quantity(
    1.0, "mm", "least distance between the widths taken 2 and 5 mm from the apex; " + _JUDGED,
    "assumption", 0.3, 3.0,
)  # fmt: skip
PREPARED_SHORT_MM = Quantity(0.5, "mm", "preparation ends this short of the foramen",
                             "common practice")  # fmt: skip

# --- bleeding and seeping -------------------------------------------------------------------------
OOZE_UL_PER_S = Quantity(
    0.001, "ul/s", "what one point takes up in half a minute; " + _JUDGED,
    "assumption", 0.0002, 0.003,
)  # fmt: skip
BRISK_UL_PER_S = Quantity(
    0.02, "ul/s", "fills the end of a canal in seconds; " + _JUDGED, "assumption", 0.005, 0.1
)
SHARE_BLEEDING = Quantity(0.25, "1", "of prepared canals; " + _JUDGED, "assumption", 0.1, 0.5)
SHARE_BRISK = Quantity(0.2, "1", "of those that bleed; " + _JUDGED, "assumption", 0.1, 0.4)
SHARE_SEEPING = Quantity(
    0.05, "1", "of the others: clear liquid that keeps coming; " + _JUDGED, "assumption", 0.01, 0.15
)
BEHIND_OVER_LENGTH = Quantity(
    0.5, "1", "of bleedings, from instruments that went past; " + _JUDGED, "assumption", 0.3, 0.7
)
BEHIND_REMNANT = Quantity(
    0.3, "1", "of bleedings, from living tissue left; " + _JUDGED, "assumption", 0.1, 0.5
)
BEHIND_PERFORATION = Quantity(
    0.1, "1", "of bleedings, from an opening in the side; " + _JUDGED, "assumption", 0.02, 0.2
)
BEHIND_RESORPTION = Quantity(
    0.1, "1", "of bleedings, from a root's end that resorbs; " + _JUDGED, "assumption", 0.02, 0.2
)
BLOOD_IN_BLEEDING = Quantity(
    1.0, "1", "of the liquid in a canal that bleeds at all, whatever was rinsed; " + _JUDGED,
    "assumption", 0.5, 1.0,
)  # fmt: skip
BLOOD_FROM_A_REMNANT = Quantity(
    0.0, "1", "of the liquid that stands free, where living tissue is left that has bled out: it "
    "is red on a point that meets it and hardly tinges what was rinsed with; " + _JUDGED,
    "assumption", 0.0, 0.5,
)  # fmt: skip
SHARE_BLOCKED = Quantity(0.04, "1", "of prepared canals; " + _JUDGED, "assumption", 0.01, 0.1)
BLOCK_LOWEST_MM = Quantity(
    0.3, "mm", "above the foramen; lower debris stops nothing; " + _JUDGED, "assumption", 0.1, 0.5
)
BLOCK_HIGHEST_MM = Quantity(2.0, "mm", "above the foramen; " + _JUDGED, "assumption", 1.0, 4.0)
REMNANT_LOWEST_MM = Quantity(
    0.5, "mm", "of tissue left above the foramen; " + _JUDGED, "assumption", 0.2, 1.0
)
LATERAL_ABOVE_MM = Quantity(
    2.0, "mm", "an opening in the side lies this much higher than a remnant would; " + _JUDGED,
    "assumption", 1.0, 4.0,
)  # fmt: skip
REMNANT_HIGHEST_MM = Quantity(
    2.5, "mm", "of tissue left above the foramen; " + _JUDGED, "assumption", 1.0, 5.0
)
SETTLES_BY_WAITING = Quantity(
    0.5, "1", "chance that bleeding goes down a step; " + _JUDGED, "assumption", 0.3, 0.8
)
WAITED_S = Quantity(180.0, "s", "a wait for which that chance holds", "common practice")
MOST_BY_WAITING = Quantity(
    1.5, "1", "times that chance, however long the wait; " + _JUDGED, "assumption", 1.0, 2.0
)
BY_A_RINSE = Quantity(0.5, "1", "of that chance, by a rinse; " + _JUDGED, "assumption", 0.2, 1.0)
SETTLES_BY_PEROXIDE = Quantity(
    0.7, "1", "chance that bleeding goes down a step; " + _JUDGED, "assumption", 0.4, 0.9
)
REMNANT_DISSOLVES = Quantity(
    0.6, "1", "chance that a rinse with hypochlorite removes it; " + _JUDGED, "assumption", 0.3, 0.9
)
BLOCK_CLEARS = Quantity(
    0.7, "1", "chance that a small file passes it after a rinse; " + _JUDGED,
    "assumption", 0.4, 0.9,
)  # fmt: skip

# --- walls, and what a clinician keeps to ---------------------------------------------------------
WALL_KEPT_BY_A_POINT = Quantity(
    0.5, "1", "of the walls' moisture is left by each point; " + _JUDGED, "assumption", 0.3, 0.8
)
WET_WALL = Quantity(
    0.3, "1", "share of moisture above which a point picks up liquid along the wall before its tip "
    "arrives; " + _JUDGED, "assumption", 0.1, 0.5,
)  # fmt: skip
DRESSED_WALL = Quantity(
    0.2, "1", "moisture of the walls after a dressing is taken out; " + _JUDGED,
    "assumption", 0.05, 0.5,
)  # fmt: skip
DRYING_TAPER = Quantity(0.02, "mm/mm", "of a point that dries", "common practice")
SHORT_OF_DRY_MM = Quantity(
    1.0, "mm", "a dampened point stays at least this much short of the longest dry length",
    "common practice",
)  # fmt: skip
NEXT_POINT_SHARE = Quantity(
    1 / 3, "1", "of the time between two points that are measured, between two that only dry; "
    + _JUDGED, "assumption", 0.1, 0.5,
)  # fmt: skip

# --- how long things take -------------------------------------------------------------------------
BETWEEN_POINTS_S = Quantity(30.0, "s", "measure the mark, take the next point", "common practice")
ASPIRATED_TO_MM = Quantity(
    4.0, "mm", "above the foramen, by a needle that stays loose; " + _JUDGED,
    "assumption", 2.0, 6.0,
)  # fmt: skip
DRYING_CONTACT_S = Quantity(3.0, "s", "of a point that dries", "common practice")
VISITS_APART_S = Quantity(6.0e5, "s", "about a week", "common practice")

# --- when points raise a question -----------------------------------------------------------------
DRIFT_SUSPECT_MM = Quantity(
    0.5,
    "mm",
    "between first and last mark, at which drift is looked into; about what one point removes; "
    + _JUDGED,
    "assumption",
    0.3,
    0.8,
)
DRY_PAST_QUESTION = Quantity(
    0.5,
    "1",
    "probability, by all other sources, of being past at which a dry point raises a question; "
    + _JUDGED,
    "assumption",
    0.25,
    0.75,
)
