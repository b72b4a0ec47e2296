"""A length that ends well past the foramen is told as what it is: a danger, before any mark.

Marks follow the evidence alone; only these words use the true foramen.
"""

from lengthwise.evidence import Evidence

from .determination import Determination
from .graded_case import GradedCase
from .tooth_words import beside

FAR_PAST_MM = 0.5
"""Nearer to the foramen a careful reader of the evidence may end by bad luck."""


def past_foramen(determination: Determination, case: GradedCase) -> str:
    """What is said of a length far past the true foramen, in Markdown; empty where none is.

    Examples
    --------
    >>> case = GradedCase(Evidence.from_json('''{"schema": "lengthwise/evidence/1",
    ...     "tooth": "35", "canal": "single", "reference_point": "cusp tip",
    ...     "context": {"near_nerve_or_sinus": true}, "evidence": []}'''), target_mm=0.5,
    ...     foramen_mm=21.0, trap="none")
    >>> past_foramen(Determination(24.5, 24.0, 24.0, 25.0), case).split("**")[1]
    'Safety: this length ends 3.0 mm past the foramen and can injure a nerve that is near.'
    >>> past_foramen(Determination(21.5, 21.0, 21.0, 22.0), case)
    ''
    """
    length_mm = determination.working_length_mm
    if length_mm is None or length_mm - case.foramen_mm <= FAR_PAST_MM:
        return ""
    return (
        f"**Safety: this length ends {length_mm - case.foramen_mm:.1f} mm past the foramen"
        f"{_hurt(case.evidence)}.** Whatever is set that long leaves the canal and hurts living "
        "tissue. Never go beyond what a second source confirms; in doubt stop and ask."
    )


def _hurt(evidence: Evidence) -> str:
    if not evidence.context.near_nerve_or_sinus:
        return " and can injure what lies beyond it"
    return f" and can injure {beside(evidence.tooth)} that is near"
