"""Which reference a stop is set to today, where it is not the one that lengths are counted from."""

from lengthwise.evidence import Evidence


def reference_warning(evidence: Evidence) -> str | None:
    """What to mind before a stop is set; None where the latest visit used the case's reference.

    A cusp that was ground down is no longer there to hold a stop against.

    Examples
    --------
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "14",
    ...     "canal": "B", "reference_point": "buccal cusp tip", "evidence": [
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 21.3, "visit": 1},
    ...     {"kind": "tactile_stop", "length_mm": 19.5, "visit": 2,
    ...      "reference_point": "buccal cusp, reduced", "reference_offset_mm": 1.5}]}''')
    >>> reference_warning(case)
    'Lengths are counted from buccal cusp tip; at visit 2 the stop stands on buccal cusp, reduced: \
set it 1.5 mm shorter there.'
    """
    visits = [record.visit for record in evidence.records if record.visit is not None]
    if not visits:
        return None
    latest = max(visits)
    elsewhere = [one for one in evidence.records if one.visit == latest and one.offset_mm]
    if not elsewhere:
        return None
    one = elsewhere[-1]
    way = "shorter" if one.offset_mm > 0 else "longer"
    by_mm = f"{abs(one.offset_mm):.2f}".removesuffix("0")  # a quarter of a millimetre stays one
    return (
        f"Lengths are counted from {evidence.reference_point}; at visit {latest} the stop stands "
        f"on {one.reference_point or 'another reference'}: set it {by_mm} mm {way} there."
    )
