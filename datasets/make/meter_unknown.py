"""What makes electronic readings and was never measured, each with its possible range."""

from lengthwise.reference import electrical as e

UNKNOWN = {
    "tissue_ohm_m": e.TISSUE_OHM_M,
    "dentine_ohm_m": e.DENTINE_OHM_M,
    "dentine_permittivity": e.DENTINE_PERMITTIVITY,
    "cementum_ohm_m2": e.CEMENTUM_OHM_M2,
    "cementum_f_per_m2": e.CEMENTUM_F_PER_M2,
    "interface_s_per_m2": e.INTERFACE_S_PER_M2,
    "interface_alpha": e.INTERFACE_ALPHA,
    "body_ohm": e.BODY_OHM,
    "least_gap_mm": e.LEAST_GAP_MM,
    "film_mm": e.FILM_MM,
    "hypochlorite_ohm_m": e.HYPOCHLORITE_OHM_M,
    "contact_ohm": e.CONTACT_OHM,
    "contact_mm2": e.CONTACT_MM2,
}
