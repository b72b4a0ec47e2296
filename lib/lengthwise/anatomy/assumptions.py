"""What nobody has measured about canals and teeth, each with the range it may lie in."""

from lengthwise.reference.quantity import Quantity

_JUDGED = "judgement of the authors; nobody has measured it for this use"

# --- the patient ----------------------------------------------------------------------------------
YOUNGEST_YEARS = Quantity(18.0, "year", "all apices closed", "common practice")
OLDEST_YEARS = Quantity(80.0, "year", "ages are drawn evenly up to here", "assumption", 70, 90)
AGE_TERM_FROM_YEARS = Quantity(25.0, "year", "end of Kuttler's younger group (1955)", "second-hand")
AGE_TERM_TO_YEARS = Quantity(55.0, "year", "start of Kuttler's older group (1955)", "second-hand")

# --- crown and root -------------------------------------------------------------------------------
CROWN_SD_MM = Quantity(
    0.7, "mm", "from cusp to where crown meets root; crown and root vary apart; " + _JUDGED,
    "assumption", 0.4, 1.0,
)  # fmt: skip
ROOT_PROFILE_POWER = Quantity(
    0.5, "1", "half-width of a root by its distance from the apex; 0.5 is a rounded tip; "
    + _JUDGED, "assumption", 0.4, 0.65,
)  # fmt: skip
TRUNK_MM = Quantity(
    3.5, "mm", "from the cervix to where the roots part; " + _JUDGED, "assumption", 2.5, 5.0
)
ENAMEL_MM = Quantity(
    1.0, "mm", "thickest enamel on the sides of a crown; " + _JUDGED, "assumption", 0.6, 1.6
)

# --- the apical canal -----------------------------------------------------------------------------
CONSTRICTION_RELATIVE_SD = Quantity(
    0.385,
    "1",
    "of the distance from constriction to foramen: 0.33 of 0.847 and 0.27 of 0.709 "
    "(Eur J Dent, doi 10.4103/ejd.ejd_54_18)",
    "derived",
)
CANAL_WIDTH_LOG_SD = Quantity(
    0.35,
    "1",
    "least and greatest of about 20 upper canines, 0.16 and 0.58 mm, lie 3.7 SD apart "
    "(Wu et al. 2000, Oral Surg 89:739)",
    "assumption",
    0.25,
    0.45,
)
CANAL_WIDTH_CORRELATION = Quantity(
    0.6, "1", "between the two directions of one canal; " + _JUDGED, "assumption", 0.2, 0.9
)
FURTHEST_APEX_MM = Quantity(
    3.0, "mm", "a foramen further from the apex would open on the side of the root; " + _JUDGED,
    "assumption", 2.5, 4.0,
)  # fmt: skip
STEEPEST_FORAMEN_DEG = Quantity(
    70.0, "degree", "a foramen in a steeper plane opens on the side of the root; " + _JUDGED,
    "assumption", 60.0, 80.0,
)  # fmt: skip
CONSTRICTION_SHARE = Quantity(
    0.85, "1", "of the canal's width 1 mm from the apex; " + _JUDGED, "assumption", 0.7, 1.0
)

# --- curvature and shortening ---------------------------------------------------------------------
CURVATURE_DIRECTION_SD_DEG = Quantity(
    60.0, "degree", "around distal; " + _JUDGED, "assumption", 30, 100
)
SHORTENING_WITH_CURVATURE = Quantity(
    0.7, "1", "rank correlation: a straight canal has little to lose; " + _JUDGED,
    "assumption", 0.3, 0.9,
)  # fmt: skip
