"""Marks without a notebook: a determination against the reconciliation of the same evidence."""

from .determination import Determination
from .graded_case import GradedCase
from .marks import Marks, mark

__all__ = ["Determination", "GradedCase", "Marks", "mark"]
