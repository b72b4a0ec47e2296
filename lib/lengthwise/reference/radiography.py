"""What a radiograph is taken with and through: named figures, each a `Quantity`."""

from lengthwise.reference.quantity import Quantity

_JUDGED = "judgement of the authors; for a picture that looks right, no length depends on it"

# --- the beam and the receptor --------------------------------------------------------------------
EFFECTIVE_ENERGY_KEV = Quantity(
    35.0,
    "keV",
    "one energy for a beam of 60 to 70 kV behind 1.5 to 2.5 mm of aluminium",
    "assumption",
    28.0,
    45.0,
)
PHOTONS_PER_MM2 = Quantity(
    1.0e5, "1/mm^2", "reaching an empty receptor; " + _JUDGED, "assumption", 2e4, 1e6
)
UNSHARPNESS_MM = Quantity(
    0.08, "mm", "focal spot and receptor, as one standard deviation; " + _JUDGED,
    "assumption", 0.03, 0.15,
)  # fmt: skip
RECEPTOR_WIDTH_MM = Quantity(31.0, "mm", "size 2 of ISO 3665, 31 by 41", "from memory")
RECEPTOR_HEIGHT_MM = Quantity(41.0, "mm", "size 2 of ISO 3665, 31 by 41", "from memory")

# --- how the two techniques stand to a tooth ------------------------------------------------------
FOCUS_PARALLELING_MM = Quantity(400.0, "mm", "long distance to the focus", "common practice")
FOCUS_BISECTING_MM = Quantity(200.0, "mm", "short distance to the focus", "common practice")
TOOTH_PARALLELING_MM = Quantity(
    20.0, "mm", "a holder keeps the receptor away; 2 to 3 cm in magnification.csv",
    "assumption", 10.0, 30.0,
)  # fmt: skip
CROWN_BISECTING_MM = Quantity(
    4.0, "mm", "axis of the crown to a receptor that touches it; half a crown's depth",
    "assumption", 2.5, 6.0,
)  # fmt: skip
LEAN_BISECTING_DEG = Quantity(
    30.0, "degree", "receptor against the tooth's axis, upper front; " + _JUDGED,
    "assumption", 10.0, 50.0,
)  # fmt: skip

FOCUS_BEYOND_TOOTH_MM = Quantity(
    50.0, "mm", "least from the tooth to the focus: no tube comes closer", "common practice"
)

# --- what surrounds the tooth ---------------------------------------------------------------------
CREST_BELOW_CERVIX_MM = Quantity(
    1.5, "mm", "crest of the bone apical of the cervix", "common practice"
)
LIGAMENT_MM = Quantity(0.20, "mm", "periodontal space, 0.15 to 0.25", "from memory")
SOCKET_WALL_MM = Quantity(
    0.25, "mm", "dense wall of the socket; " + _JUDGED, "assumption", 0.1, 0.5
)
JAW_DEPTH_MM = Quantity(
    9.0, "mm", "cancellous bone, buccal to lingual; " + _JUDGED, "assumption", 5.0, 14.0
)
CORTEX_MM = Quantity(2.0, "mm", "both plates together; " + _JUDGED, "assumption", 1.0, 4.0)
GUM_MM = Quantity(3.0, "mm", "both sides together; " + _JUDGED, "assumption", 2.0, 5.0)
CHEEK_MM = Quantity(
    8.0, "mm", "lip or cheek before everything; " + _JUDGED, "assumption", 4.0, 15.0
)
TRABECULAR_CONTRAST = Quantity(
    0.17, "1", "of the cancellous bone's attenuation, as one standard deviation; " + _JUDGED,
    "assumption", 0.1, 0.5,
)  # fmt: skip
TRABECULA_MM = Quantity(0.18, "mm", "grain of that pattern; " + _JUDGED, "assumption", 0.15, 0.6)
CANAL_TURN_MM = Quantity(
    3.0, "mm", "over which the end of a canal turns towards its foramen; " + _JUDGED,
    "assumption", 1.0, 5.0,
)  # fmt: skip
CHAMBER_TOP_SHARE = Quantity(
    0.55, "1", "of the crown's height, where an unopened pulp chamber ends; " + _JUDGED,
    "assumption", 0.4, 0.8,
)  # fmt: skip
CHAMBER_WIDTH_SHARE = Quantity(
    1.6, "1", "times the canal's width 5 mm from the apex, at the cervix; " + _JUDGED,
    "assumption", 1.2, 2.5,
)  # fmt: skip
CREST_DIP_MM = Quantity(
    1.0, "mm", "the crest lies lower at a tooth than beside it; " + _JUDGED, "assumption", 0.5, 2.0
)
CREST_DIP_WIDTH_MM = Quantity(
    5.0, "mm", "to each side, over which the crest rises; " + _JUDGED, "assumption", 3.0, 8.0
)
CREST_FADES_MM = Quantity(
    3.5, "mm", "over which bone or gum comes to its full depth; " + _JUDGED, "assumption", 2.0, 6.0
)
GUM_ABOVE_CERVIX_MM = Quantity(
    1.5, "mm", "the gum begins this much coronal of the cervix; " + _JUDGED, "assumption", 0.5, 3.0
)
FILE_CUTS_MM = Quantity(16.0, "mm", "length of the tapered part, ISO 3630-1", "from memory")
FILE_TAPER = Quantity(0.02, "mm/mm", "ISO 3630-1", "from memory")
FILE_BEYOND_CROWN_MM = Quantity(
    8.0, "mm", "of the shaft that stands out; " + _JUDGED, "assumption", 4.0, 12.0
)
ACCESS_WIDTH_MM = Quantity(
    1.4, "mm", "opening through the crown; " + _JUDGED, "assumption", 0.8, 2.5
)

RECEPTOR_MARGIN_MM = Quantity(
    0.5, "mm", "of the receptor's edge, on which nothing can be read; " + _JUDGED,
    "assumption", 0.0, 2.0,
)  # fmt: skip
FILE_FURTHEST_BEYOND_MM = Quantity(
    4.0, "mm", "beyond the root's end, where a file is no question of length any more; " + _JUDGED,
    "assumption", 2.0, 6.0,
)  # fmt: skip
SHOWN_BLACK = Quantity(
    0.2, "1", "optical depth that is shown black; " + _JUDGED, "assumption", 0.1, 0.4
)
SHOWN_WHITE = Quantity(
    2.7, "1", "optical depth that is shown white; " + _JUDGED, "assumption", 2.0, 3.5
)

# --- what a reader does ---------------------------------------------------------------------------
MEASURED_WITHIN_SD = Quantity(
    4.0, "1", "times a reader's error: so much room a file's image has to the limits of what is "
    "measured; " + _JUDGED, "assumption", 3.0, 5.0,
)  # fmt: skip
READER_SD_MM = Quantity(
    0.20,
    "mm",
    "one mark set on a picture by a careful reader; the rest of the 0.2 to 0.5 that the "
    "reconciliation reckons with is geometry",
    "assumption",
    0.1,
    0.35,
)
