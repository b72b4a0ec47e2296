"""From evidence to a length: the posterior over the foramen, the decision, the next step.

This package sees evidence only. It never knows the truth.
"""

from .decision import Loss
from .next_step import NEXT_STEPS, NextStep
from .reconcile import reconcile, reconcile_many, reconcile_sources
from .result import Reconciliation
from .source_rows import SourceRow
from .sources import Source, sources_of

__all__ = [
    "NEXT_STEPS",
    "Loss",
    "NextStep",
    "Reconciliation",
    "Source",
    "SourceRow",
    "reconcile",
    "reconcile_many",
    "reconcile_sources",
    "sources_of",
]
