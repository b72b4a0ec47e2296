"""The three cases of assignment a6: a plain one, a source that does not belong, and "not yet".

Cases are drawn until they are what their kind needs: the drawn evidence decides, never the truth.
So every student meets the same difficulty in canals of their own. Which question holds which kind
differs from student to student: else one would tell the other where "not yet" is the answer.
"""

from collections.abc import Callable
from typing import Literal

import numpy as np

from lengthwise.evidence import Context, ElectronicReading, Evidence, Record
from lengthwise.reconciliation import Reconciliation, reconcile
from lengthwise.reconciliation.next_step import narrow_enough
from lengthwise.reconciliation.plan import Plan, Step
from lengthwise.reconciliation.sampler import (
    Generator,
    States,
    Truth,
    draw_evidence,
    draw_states,
    draw_truth,
)
from lengthwise.reference import actions

from .beliefs import implied_lengths_mm
from .graded_case import GradedCase
from .meter_traces import traces_at
from .tooth_words import TEETH

MOST_TRIES = 2000
PLAIN, ODD_ONE, NOT_YET = "none", "odd one out", "not yet"
"""How the trap of each kind of case begins."""

ODD_ONE_MM = 0.8
"""The source that does not belong moves a plain mean by at least this much."""

DISAGREE_MM = 1.5
"""Sources that leave the length open are at least this far apart; those that agree, at most."""

STANDS_OUT_MM = 2.0
"""The source that does not belong is at least this far from the mean of the others."""

Implied = dict[str, float]

_ALL = (
    Step("preoperative_film", technique="paralleling"),
    Step("electronic_reading", repeats=2, stage="after_flare"),
    Step("working_film", technique="paralleling", stage="after_shaping"),
    Step("point_trial", repeats=2, stage="after_shaping", run_recorded=True, liquid_in_canal="dry"),
)
_FEW = (
    Step("preoperative_film", technique="bisecting"),
    Step("electronic_reading", repeats=2, stage="before_flare"),
)
_WET = (
    Step("preoperative_film", technique="paralleling"),
    Step("electronic_reading", repeats=1, stage="after_shaping", liquid_in_canal="blood"),
    Step("point_trial", repeats=2, stage="after_shaping", liquid_in_canal="moist"),
)


def draw_cases(target_mm: float, rng: Generator) -> dict[str, GradedCase]:
    """The cases q1 to q3 of one student, the three kinds in an order of this student's own."""
    places = rng.permutation(3)
    teeth = rng.permutation(len(TEETH))[:3]
    odd = ("electronic_reading", "working_film")[rng.integers(2)]
    few = (_FEW, _WET)[rng.integers(2)]
    kinds = (
        _draw(int(teeth[0]), _ALL, _everything_sound, _agree, _is_plain, PLAIN, target_mm, rng),
        _draw(
            int(teeth[1]),
            _ALL,
            _one_unsound(odd),
            _stands_out(odd),
            _has_odd_one,
            f"{ODD_ONE}: {odd}",
            target_mm,
            rng,
        ),
        _draw(int(teeth[2]), few, draw_states, _disagree, _is_open, NOT_YET, target_mm, rng),
    )
    return {f"q{number}": kinds[place] for number, place in enumerate(places, start=1)}


def _draw(
    tooth: int,
    steps: tuple[Step, ...],
    states_of: Callable[[Plan, Generator], States],
    promises: Callable[[Implied], bool],
    fits: Callable[[Reconciliation], bool],
    trap: str,
    target_mm: float,
    rng: Generator,
) -> GradedCase:
    fdi, canal, reference = TEETH[tooth]
    pulp: Literal["vital", "necrotic"] = "vital" if rng.random() < 0.5 else "necrotic"
    context = Context(pulp=pulp, apex="closed", obstruction="none", crown="intact")
    plan = Plan(fdi, canal, steps, context, reference)
    for _ in range(MOST_TRIES):
        truth, states = draw_truth(plan, rng), states_of(plan, rng)
        evidence = _as_charted(draw_evidence(plan, truth, states, rng))
        implied = implied_lengths_mm(evidence)
        if not _is_ordinary(truth) or len(implied) < len(steps) or not promises(implied):
            continue  # cheaper to see than to read a meter and to reconcile
        evidence = _with_traces(evidence, states, rng)
        if fits(reconcile(evidence, target_mm=target_mm)):
            return GradedCase(evidence, target_mm, truth.foramen_mm, trap)
    raise RuntimeError(f"no case with trap {trap!r} in {MOST_TRIES} tries for tooth {fdi}")


def _as_charted(evidence: Evidence) -> Evidence:
    """As it stands in a chart: to a tenth of a millimetre."""
    records: list[Record] = []
    for record in evidence.records:
        lengths = {
            name: round(value, 1)
            for name, value in record.model_dump().items()
            if name.endswith("_mm") and isinstance(value, float)
        }
        records.append(record.model_copy(update=lengths))
    return evidence.model_copy(update={"records": tuple(records)})


def _with_traces(evidence: Evidence, states: States, rng: Generator) -> Evidence:
    """Each foramen signal as the trace in which it came; a case reads its canal once."""
    signals = [r for r in evidence.records if isinstance(r, ElectronicReading)]
    traces = traces_at(
        [r.foramen_signal_mm for r in signals if r.foramen_signal_mm is not None],
        evidence.tooth,
        evidence.canal,
        erratic=any(
            key[0] == "electronic_reading" and state == "erratic" for key, state in states.items()
        ),
        bloody=any(r.liquid_in_canal == "blood" for r in signals),
        rng=rng,
    )
    told = ("visit", "stage", "file_size", "liquid_in_canal")
    following = iter(traces)
    records = tuple(
        next(following).model_copy(update=record.model_dump(include=set(told)))
        if isinstance(record, ElectronicReading)
        else record
        for record in evidence.records
    )
    return evidence.model_copy(update={"records": records})


def _is_ordinary(truth: Truth) -> bool:
    """A canal as students meet them; freaks belong into a seminar, not into an exam."""
    return 16.0 <= truth.foramen_mm <= 32.0


def _everything_sound(plan: Plan, rng: Generator) -> States:
    return dict.fromkeys(draw_states(plan, rng), "sound")


def _one_unsound(kind: str) -> Callable[[Plan, Generator], States]:
    state = "early" if kind == "electronic_reading" else "misread"

    def states(plan: Plan, rng: Generator) -> States:
        return {key: state if key[0] == kind else "sound" for key in draw_states(plan, rng)}

    return states


def _spread_mm(lengths: list[float]) -> float:
    return max(lengths) - min(lengths)


def _agree(implied: Implied) -> bool:
    return _spread_mm(list(implied.values())) < DISAGREE_MM


def _disagree(implied: Implied) -> bool:
    return _spread_mm(list(implied.values())) > DISAGREE_MM


def _stands_out(kind: str) -> Callable[[Implied], bool]:
    def stands_out(implied: Implied) -> bool:
        others = [length for other, length in implied.items() if other != kind]
        apart = abs(implied[kind] - float(np.mean(others)))
        return apart > STANDS_OUT_MM and _spread_mm(others) < DISAGREE_MM

    return stands_out


def _is_plain(result: Reconciliation) -> bool:
    return result.next_step.word == "confirm"


def _has_odd_one(result: Reconciliation) -> bool:
    """A mean of all sources would mislead by a good deal, and the library knows whom to doubt."""
    by_mean = float(np.mean(list(implied_lengths_mm(result.evidence).values())))
    misleads = by_mean - result.loss.target_mm - result.best_length_mm
    return result.next_step.word == "confirm" and abs(misleads) >= ODD_ONE_MM


def _is_open(result: Reconciliation) -> bool:
    """Too few sources, and those at odds: clearly no length is taken on them."""
    if result.next_step.word == "confirm":
        return False
    clearly = actions.NEARLY_EQUAL_WORTH.value
    wide = not narrow_enough(result.interval_mm())
    return wide or result.next_step.net is None or result.next_step.net > clearly
