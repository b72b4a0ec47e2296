"""What practice costs and how it adapts: named figures, each a `Quantity`."""

from lengthwise.reference.quantity import Quantity

_JUDGED = "judgement of the authors; nobody has measured it for this use"

# --- what an action takes at the chair ------------------------------------------------------------
POINT_MIN = Quantity(0.5, "min", "measure, touch, look; as between points", "common practice")
DRY_MIN = Quantity(1.5, "min", "aspirate, three points; " + _JUDGED, "assumption", 1.0, 3.0)
RINSE_MIN = Quantity(1.0, "min", "a passive rinse", "common practice")
WAIT_MIN = Quantity(3.0, "min", "a few minutes of patience", "common practice")
PATENCY_MIN = Quantity(1.0, "min", "a small file, gently; " + _JUDGED, "assumption", 0.5, 2.0)
PEROXIDE_MIN = Quantity(2.0, "min", "changed and repeated; " + _JUDGED, "assumption", 1.0, 4.0)
READING_MIN = Quantity(1.0, "min", "in, back, in again; " + _JUDGED, "assumption", 0.5, 3.0)
PREPARE_MIN = Quantity(1.0, "min", "dry crown and chamber; " + _JUDGED, "assumption", 0.5, 3.0)
FILM_MIN = Quantity(4.0, "min", "place, expose, read; " + _JUDGED, "assumption", 2.0, 8.0)
ASK_MIN = Quantity(5.0, "min", "until somebody comes; " + _JUDGED, "assumption", 2.0, 20.0)
DRESS_MIN = Quantity(10.0, "min", "dress, seal, book; " + _JUDGED, "assumption", 5.0, 15.0)
REFUSED_MIN = Quantity(0.5, "min", "asked for and not done; " + _JUDGED, "assumption", 0.1, 1.0)
EXPOSURE_USV = Quantity(
    5.0, "µSv", "effective dose of one intraoral radiograph, by receptor and collimation",
    "from memory", 1.0, 10.0,
)  # fmt: skip

# --- how difficulty follows the student -----------------------------------------------------------
START_SD_LOGIT = Quantity(
    1.5, "logit", "of somebody's level before the first case; " + _JUDGED, "assumption", 1.0, 2.5
)
DRIFT_LOGIT = Quantity(
    0.02, "logit", "SD by which a level may change from case to case; " + _JUDGED, "assumption",
    0.0, 0.1,
)  # fmt: skip
NEAR_LOGIT = Quantity(
    0.2, "logit", "how near to the level most cases are chosen; " + _JUDGED, "assumption", 0.1, 1.0
)
MISSTEP_COST = Quantity(
    0.25, "1", "of a case's marks for each proposed step that does not help; " + _JUDGED,
    "assumption", 0.1, 0.5,
)  # fmt: skip
FIRST_LEVEL_CASES = Quantity(
    5, "1", "cases before somebody is told a level: its SD has fallen below one; " + _JUDGED,
    "assumption", 3, 10,
)  # fmt: skip

# --- what could injure ----------------------------------------------------------------------------
LIKELY_PAST = Quantity(
    0.95, "1", "probability, by all that is known at that moment, of being more than 1 mm past the "
    "foramen, from which on a length is too far; so high that nobody pays for a doubt; " + _JUDGED,
    "assumption", 0.9, 0.99,
)  # fmt: skip
TOO_FAR_COST = Quantity(
    0.2, "1", "of a case's marks for each time that something goes too far; " + _JUDGED,
    "assumption", 0.1, 0.4,
)  # fmt: skip
TOO_FAR_NEAR_COST = Quantity(
    0.4, "1", "the same with a nerve or the sinus near; " + _JUDGED, "assumption", 0.2, 0.5
)
TOO_FAR_MOST = Quantity(
    0.4, "1", "of a case's marks that going too far costs at most, so that the mark is mainly the "
    "answer's; " + _JUDGED, "assumption", 0.2, 0.5,
)  # fmt: skip
