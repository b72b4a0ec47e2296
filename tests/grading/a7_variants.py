"""Variants of a7, composed afresh, each canal with what its evidence supports."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Generic, TypeVar

import numpy as np
import pytest
from lengthwise.evidence import Evidence
from lengthwise.marking import a7_cases, determination_clues, marks
from lengthwise.marking.graded_case import GradedCase
from lengthwise.reconciliation import Reconciliation, reconcile

TARGET_MM = 0.5

Variant = Mapping[str, tuple[GradedCase, Reconciliation]]
"""Case and result by question."""


T = TypeVar("T")


class Once(Generic[T]):
    """Works something out once for every evidence, however often it is asked."""

    def __init__(self, work_out: Callable[[Evidence], T]) -> None:
        self.work_out = work_out
        self.known: dict[int, tuple[Evidence, T]] = {}

    def __call__(self, evidence: Evidence, **_: object) -> T:
        """What came out, worked out now or before."""
        if id(evidence) not in self.known:
            self.known[id(evidence)] = evidence, self.work_out(evidence)
        return self.known[id(evidence)][1]


def compose(seeds: Sequence[int]) -> list[Variant]:
    """One variant a seed; what composing has weighed is not weighed again."""
    weighed = Once(lambda evidence: reconcile(evidence, target_mm=TARGET_MM))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(a7_cases, "reconcile", weighed)
        drawn = [a7_cases.draw_cases(TARGET_MM, np.random.default_rng(seed)) for seed in seeds]
    variants = [{q: (case, weighed(case.evidence)) for q, case in one.items()} for one in drawn]
    for variant in variants:
        for _, result in variant.values():
            _ = result.next_step  # worked out here, and kept with it
    return variants


def quick_marks(patch: pytest.MonkeyPatch, variants: Sequence[Variant]) -> Once[Reconciliation]:
    """Marks without explanations, and without weighing or looking for beliefs again and again."""
    weighed = Once(lambda evidence: reconcile(evidence, target_mm=TARGET_MM))
    for variant in variants:
        for case, result in variant.values():
            weighed.known[id(case.evidence)] = case.evidence, result
    leads = determination_clues.led_to
    led_to = Once(lambda evidence: leads(weighed(evidence)))
    patch.setattr(marks, "reconcile", weighed)
    patch.setattr(marks, "explain", lambda *_: "")
    patch.setattr(determination_clues, "led_to", lambda result: led_to(result.evidence))
    return weighed
