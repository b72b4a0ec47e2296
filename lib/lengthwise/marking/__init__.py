"""Marks without a notebook: a determination against the reconciliation of the same evidence."""

from .casebook import GradedCase
from .determination import Determination
from .marks import Marks, mark

__all__ = ["Determination", "GradedCase", "Marks", "mark"]
