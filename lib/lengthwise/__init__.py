"""How long is this root canal? A course, a simulated patient and a grader for one decision.

The names below are loaded when first used, so that `import lengthwise` is quick.

>>> from lengthwise import Evidence, reconcile
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lengthwise.anatomy.canals import draw_canals
    from lengthwise.bench.patient import Patient
    from lengthwise.evidence import Evidence, EvidenceError
    from lengthwise.marking import Determination, mark
    from lengthwise.reconciliation import Loss, Reconciliation, reconcile, reconcile_many

_HOMES = {
    "Evidence": "lengthwise.evidence",
    "EvidenceError": "lengthwise.evidence",
    "Loss": "lengthwise.reconciliation",
    "Reconciliation": "lengthwise.reconciliation",
    "reconcile": "lengthwise.reconciliation",
    "reconcile_many": "lengthwise.reconciliation",
    "Determination": "lengthwise.marking",
    "mark": "lengthwise.marking",
    "draw_canals": "lengthwise.anatomy.canals",
    "Patient": "lengthwise.bench.patient",
}
__all__ = [
    "Determination",
    "Evidence",
    "EvidenceError",
    "Loss",
    "Patient",
    "Reconciliation",
    "draw_canals",
    "mark",
    "reconcile",
    "reconcile_many",
]


def __getattr__(name: str) -> object:
    """Load a public name from its home (PEP 562)."""
    if name not in _HOMES:
        raise AttributeError(f"module 'lengthwise' has no attribute {name!r}")
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
