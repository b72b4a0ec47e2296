"""What electronic readings are worth in the reconciliation: named figures, each a `Quantity`."""

from lengthwise.reference.quantity import Quantity

CALIBRATION_DIAMETER_MM = Quantity(
    0.587, "mm", "foramen of the median canal, on which the scale is made; meter_canal.csv",
    "computed",
)  # fmt: skip
LATE_MM = Quantity(
    0.12, "mm", "past the foramen, in the middle of canals with such a foramen (0.22 once they are "
    "shaped); traces of the simulated patient", "assumption", 0.0, 0.3,
)  # fmt: skip
SHORT_PER_MM_WIDER = Quantity(
    0.80, "mm/mm", "of foramen; traces of the simulated patient over the calibration's draws",
    "assumption", 0.5, 1.5,
)  # fmt: skip
BETWEEN_CANALS_SD_MM = Quantity(
    0.25, "mm", "what repeats in one canal share beyond the foramen's width; traces of the "
    "simulated patient", "assumption", 0.15, 0.40,
)  # fmt: skip
REPEAT_SD_MM = Quantity(
    0.10, "mm", "published repeatability 0.03 to 0.07, and a stop set by hand",
    "assumption", 0.05, 0.15,
)  # fmt: skip
TRUST = Quantity(
    0.82, "1", "middle of the published shares within 0.5 mm, 67 to 97 % (de Camargo et al. 2009, "
    "J Endod 35:1300)", "assumption", 0.67, 0.97,
)  # fmt: skip
TRUST_DRY = Quantity(
    0.70, "1", "in a canal that was dried to the end the signal often comes early, where the last "
    "moisture is met: half of the bench's such readings are within 0.5 mm; readings are taught in "
    "a moist canal, common practice; between the bench and the usual trust", "assumption",
    0.5, 0.85,
)  # fmt: skip
TRUST_FLOODED = Quantity(
    0.65, "1", "flooded or bleeding: distrusted in practice, while on the bench a flooded chamber "
    "hides the signal rather than moving it (0.78 of those that came); between the two",
    "assumption", 0.2, 0.85,
)  # fmt: skip
TRACE_BEHAVES_FROM = Quantity(
    0.70, "1", "usable, by its signs: readings whose traces behaved are not answerable for those "
    "whose traces did not; two readings of the simulated patient tell as much with 0.5 to 0.8",
    "assumption", 0.5, 0.8,
)  # fmt: skip
STABLE_SHORT_SHARE = Quantity(
    0.3, "1", "of unsound readings, those that are steady but early; traces of the simulated "
    "patient", "assumption", 0.2, 0.5,
)  # fmt: skip
EARLY_MEAN_MM = Quantity(
    1.8, "mm", "how early they come; traces of the simulated patient", "assumption", 0.8, 3.0
)
ERRATIC_SD_MM = Quantity(
    0.9, "mm", "spread of the rest, among them late ones in canals with a wide constriction; "
    "traces of the simulated patient", "assumption", 0.5, 2.0,
)  # fmt: skip
