"""The ten canals of assignment a7: one of each kind, in ten teeth, in an order of one's own.

Every student meets the same traps in canals of their own; which question holds which trap differs,
or one student would tell another where "not yet" is the answer.
"""

from lengthwise.reconciliation import reconcile

from .a7_chair import Generator, Place, draw_chairs
from .a7_kinds import KINDS, Kind
from .beliefs import implied_lengths_mm
from .graded_case import GradedCase

MOST_ROUNDS, AT_ONCE = 250, 12
"""So often so many canals are drawn before a kind is given up."""


def draw_cases(target_mm: float, rng: Generator) -> dict[str, GradedCase]:
    """The cases q1 to q10 of one student."""
    drawn: list[GradedCase] = []
    for kind in KINDS:
        used = {(case.evidence.tooth, case.evidence.canal) for case in drawn}
        free = [place for place in kind.places if (place.fdi, place.canal) not in used]
        drawn.append(_draw(kind, free, target_mm, rng))
    order = rng.permutation(len(drawn)).tolist()
    return {f"q{number}": drawn[i] for number, i in enumerate(order, 1)}


def _draw(kind: Kind, places: list[Place], target_mm: float, rng: Generator) -> GradedCase:
    for _ in range(MOST_ROUNDS):
        place = places[int(rng.integers(len(places)))]
        for chair in draw_chairs(place, AT_ONCE, kind.trouble, rng):
            if chair.quality.signal_mm is None or not kind.reading(chair.quality):
                continue
            case = kind.take(chair, rng)
            if not kind.sources(case, implied_lengths_mm(case)):
                continue  # cheaper to see than to weigh
            if kind.fits(reconcile(case, target_mm=target_mm)):
                # The first record is the oldest: its offset is what the reference has lost since.
                truth_mm = chair.shaped.foramen_mm + case.records[0].offset_mm
                return GradedCase(case, target_mm, truth_mm, kind.trap)
    raise RuntimeError(f"no canal with trap {kind.trap!r} in {MOST_ROUNDS} rounds")
