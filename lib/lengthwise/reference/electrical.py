"""What carries current in and around a root canal: named figures, each a `Quantity`.

Wall, cementum and the file's interface have not been measured for this use. Their ranges are what
is physically possible, and claims about readings are made over the ranges, not at these values.
"""

from lengthwise.reference.quantity import Quantity

_JUDGED = "judgement of the authors; nobody has measured it for this use"

# --- the two frequencies whose magnitudes are compared --------------------------------------------
LOW_HZ = Quantity(400.0, "Hz", "Kobayashi & Suda 1994, J Endod 20:111", "seen")
HIGH_HZ = Quantity(8000.0, "Hz", "Kobayashi & Suda 1994, J Endod 20:111", "seen")

# --- liquids --------------------------------------------------------------------------------------
SALINE_OHM_M = Quantity(
    0.559, "ohm m", "1.79 S/m, physiological fluid at 37 C (Baumann 1997, IEEE TBME 44:220)", "seen"
)
BLOOD_OHM_M = Quantity(
    1.49, "ohm m", "0.67 S/m, whole blood at low frequency (Sandberg 1981, Pediatr Res 15:964)",
    "seen",
)  # fmt: skip
HYPOCHLORITE_OHM_M = Quantity(
    0.091, "ohm m", "5 %, about 11 S/m; only the ranking of irrigants was published; " + _JUDGED,
    "assumption", 0.06, 0.15,
)  # fmt: skip
FILM_MM = Quantity(
    0.01, "mm", "liquid left on the wall of a dried canal; " + _JUDGED, "assumption", 0.002, 0.05
)

# --- tooth, tissue, patient -----------------------------------------------------------------------
TISSUE_OHM_M = Quantity(
    1.5, "ohm m", "around the root's end; from fluid (0.56) to poor soft tissue; " + _JUDGED,
    "assumption", 0.56, 5.0,
)  # fmt: skip
DENTINE_OHM_M = Quantity(
    1000.0, "ohm m", "across the wall; about 212 was derived for cylinders with enamel; " + _JUDGED,
    "assumption", 100.0, 10_000.0,
)  # fmt: skip
DENTINE_PERMITTIVITY = Quantity(
    200.0, "1", "relative, of wet dentine at a few kHz; " + _JUDGED, "assumption", 10.0, 5000.0
)
CEMENTUM_OHM_M2 = Quantity(
    0.1, "ohm m^2", "0.1 mm of some hundreds to thousands of ohm m; " + _JUDGED,
    "assumption", 0.01, 3.0,
)  # fmt: skip
CEMENTUM_F_PER_M2 = Quantity(
    1e-5, "F/m^2", "0.1 mm of a relative permittivity of about 100; " + _JUDGED,
    "assumption", 1e-6, 1e-4,
)  # fmt: skip
BODY_OHM = Quantity(
    500.0, "ohm", "body and mucosal electrode; less than the whole circuit's 6.5 kohm (Sunada "
    "1962, J Dent Res 41:375, second-hand); " + _JUDGED, "assumption", 100.0, 3000.0,
)  # fmt: skip
AGAR_OHM_M = Quantity(
    0.69, "ohm m", "1.45 S/m, physiological fluid at 25 C (Baumann 1997, IEEE TBME 44:220): what "
    "extracted teeth stand in", "seen",
)  # fmt: skip
AGAR_BODY_OHM = Quantity(
    20.0, "ohm", "from an extracted tooth to a large electrode beside it; " + _JUDGED,
    "assumption", 5.0, 100.0,
)  # fmt: skip
LEAST_WALL_MM = Quantity(
    0.1, "mm", "wall beside the foramen, where the root's outline runs out; " + _JUDGED,
    "assumption", 0.05, 0.3,
)  # fmt: skip
PREPARED_END_MM = Quantity(
    0.1, "mm", "over which a canal widens where preparation ends: an instrument's tip is a blunt "
    "cone; " + _JUDGED, "assumption", 0.05, 0.2,
)  # fmt: skip
VACUUM_F_PER_M = Quantity(8.8541878188e-12, "F/m", "CODATA 2022", "from memory")

# --- the file -------------------------------------------------------------------------------------
INTERFACE_S_PER_M2 = Quantity(
    0.3, "S s^alpha/m^2", "factor Q of the constant-phase element; 0.1 to 0.6 for passive steel "
    "(from memory), wider in practice; " + _JUDGED, "assumption", 0.05, 2.0,
)  # fmt: skip
INTERFACE_ALPHA = Quantity(
    0.87, "1", "exponent of the constant-phase element; 0.80 to 0.93 for passive steel (from "
    "memory), wider in practice; " + _JUDGED, "assumption", 0.7, 0.95,
)  # fmt: skip
CALIBRATION_FILE_MM = Quantity(
    0.15, "mm", "tip of the file in the canal that the meter is calibrated on; thin enough for any "
    "canal; " + _JUDGED, "assumption", 0.1, 0.2,
)  # fmt: skip
LEAST_GAP_MM = Quantity(
    0.005, "mm", "liquid around a file that touches the wall: no file seals a canal; " + _JUDGED,
    "assumption", 0.001, 0.02,
)  # fmt: skip

# --- paths that miss the canal --------------------------------------------------------------------
FLOODED_OHM = Quantity(
    2000.0, "ohm", "from a flooded chamber over the crown to the gum; " + _JUDGED,
    "assumption", 300.0, 20_000.0,
)  # fmt: skip
CONTACT_OHM = Quantity(
    300.0, "ohm", "from a metal restoration that the file touches to the gum, in its liquid; "
    + _JUDGED, "assumption", 50.0, 3000.0,
)  # fmt: skip
CONTACT_MM2 = Quantity(
    5.0, "mm^2", "of that metal in liquid that reaches the gum; " + _JUDGED,
    "assumption", 0.1, 100.0,
)  # fmt: skip
