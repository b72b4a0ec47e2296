"""What the student reads: what was answered, what the evidence supports, what to look at again."""

from lengthwise.reconciliation import NEXT_STEPS, Reconciliation
from lengthwise.reconciliation.next_step import UNSAFE_STEPS
from lengthwise.reconciliation.result_view import alone, percent
from lengthwise.reconciliation.sources import AVERAGE

from .beliefs import beliefs_behind
from .determination import Determination


def explain(determination: Determination, result: Reconciliation, target_mm: float) -> str:
    """The feedback on one determination, in Markdown."""
    parts = [_answered(determination), result.sentence]
    if determination.next_step in UNSAFE_STEPS:
        parts.append(
            "**Safety:** going longer until something shows pushes instruments into tissue. Stop, "
            "check patency, the point and the reference; ask. This answer earns nothing."
        )
    elif not determination.is_blank:
        parts.append(_compared(determination, result))
    parts += [
        belief.sentence[0].upper() + belief.sentence[1:]
        for belief in beliefs_behind(determination, result, target_mm)
    ]
    parts.append(_sources(result))
    return "\n\n".join(parts)


def _answered(determination: Determination) -> str:
    if determination.is_blank:
        return "**You answered:** nothing that could be read."
    if determination.is_not_yet:
        return f"**You answered:** not yet ({determination.next_step})."
    pieces = []
    if determination.foramen_mm is not None:
        pieces.append(f"foramen at {determination.foramen_mm:g} mm")
    if determination.low_mm is not None and determination.high_mm is not None:
        pieces.append(f"between {determination.low_mm:g} and {determination.high_mm:g} mm")
    if determination.working_length_mm is not None:
        pieces.append(f"working length {determination.working_length_mm:g} mm")
    if determination.next_step is not None:
        pieces.append(f"then {determination.next_step}")
    return f"**You answered:** {', '.join(pieces)}."


def _compared(determination: Determination, result: Reconciliation) -> str:
    recommended = result.working_length_mm
    if recommended is None:
        best, also = result.next_step.word, result.next_step.also
        if not determination.is_not_yet:
            return (
                "On this evidence no length should be taken yet: look again at how far the sources "
                f"disagree. The step that helps most: {NEXT_STEPS[best]}."
            )
        if determination.next_step == best:
            return "Not taking a length yet, and this next step, are what the evidence asks for."
        if determination.next_step in also:
            return (
                "Not taking a length yet is right, and this next step is worth nearly as much as "
                f"the best one ({best}): it earns in full."
            )
        return (
            f"Not taking a length yet is right. The step that helps most here: {NEXT_STEPS[best]}."
        )
    if determination.is_not_yet:
        return (
            "These sources are enough for a length. Look again at which of them agree, once each "
            "stands on its own landmark."
        )
    length = _length_compared(determination, recommended)
    return f"{length} {_interval_compared(determination, result)}"


def _length_compared(determination: Determination, recommended_mm: float) -> str:
    if determination.working_length_mm is None:
        return f"The working length is missing; {recommended_mm:g} mm was expected."
    off = determination.working_length_mm - recommended_mm
    if abs(off) < 0.05:
        return "Your working length is the recommended one."
    way = "longer" if off > 0 else "shorter"
    return (
        f"Your working length is {abs(off):.2f} mm {way} than the recommended one, which is the "
        "quarter of a millimetre that is expected to cost least; from 0.5 mm short to 0.25 mm "
        "long of it earns in full."
    )


def _interval_compared(determination: Determination, result: Reconciliation) -> str:
    if determination.low_mm is None or determination.high_mm is None:
        return "An interval is missing: give both ends."
    low, high = result.interval_mm()
    holds = result.probability_past(determination.high_mm) - result.probability_past(
        determination.low_mm
    )
    return (
        f"Your interval is {determination.high_mm - determination.low_mm:.1f} mm wide and holds "
        f"the foramen with {percent(holds)}; {high - low:.1f} mm in the right place hold it with "
        "90 %. It is marked by its width and by what it would miss."
    )


def _sources(result: Reconciliation) -> str:
    lines = [
        "| source | foramen by it alone | believed |",
        "|---|---|---|",
    ]
    lines += [
        f"| {row.name} | {alone(row)} | {percent(row.trust)} |"
        for row in result.sources
        if row.kind != AVERAGE
    ]
    return "\n".join(lines)
