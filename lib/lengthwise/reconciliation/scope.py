"""When the answer is: not with these sources, ask."""

from lengthwise.evidence import Evidence, PointTrial

_CONTEXT_REASONS = {
    ("apex", "resorbed"): "the apex is resorbed: sources that expect a foramen there mislead",
    ("apex", "immature"): "the apex is immature: sources that expect a closed apex mislead",
    ("obstruction", "ledge"): "a ledge has not been passed: the canal beyond it is unknown",
    ("obstruction", "block"): "the canal is blocked: nothing has reached its end",
    ("obstruction", "filling"): "an old root filling is still in the canal",
    ("obstruction", "instrument"): "a broken instrument is in the canal",
    ("communication", "perforation_suspected"): "a perforation is suspected",
    ("communication", "sinus_suspected"): "an opening into the sinus is suspected",
}


def ask_reasons(evidence: Evidence) -> tuple[str, ...]:
    """Why these sources cannot give a length here; empty when they can.

    Examples
    --------
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge",
    ...     "context": {"apex": "immature"}, "evidence": []}''')
    >>> ask_reasons(case)
    ('the apex is immature: sources that expect a closed apex mislead',)
    """
    context = evidence.context.model_dump()
    reasons = [why for (field, value), why in _CONTEXT_REASONS.items() if context[field] == value]
    if any(isinstance(r, PointTrial) and r.mark_site == "side" for r in evidence.records):
        reasons.append("a point was wet on its side and dry at its tip: a lateral opening")
    return tuple(reasons)
