"""The main job: evidence in, a length with its reasons out."""

from collections.abc import Sequence

from lengthwise.evidence import Evidence
from lengthwise.reference import constants
from lengthwise.reference.tables import canal_length

from .decision import Loss
from .families import canal_of
from .posterior import foramen_posteriors
from .result import Reconciliation
from .sources import Source, sources_of


def reconcile(
    evidence: Evidence, *, target_mm: float | None = None, loss: Loss | None = None
) -> Reconciliation:
    """Weigh all sources of one canal and decide.

    Parameters
    ----------
    evidence : Evidence
        The case.
    target_mm : float, optional
        The school's distance from the foramen (mm); 0.5 when neither is given.
    loss : Loss, optional
        The whole loss, instead of `target_mm`.

    Raises
    ------
    ValueError
        A canal that the tooth does not have, or a target that no school teaches.

    Examples
    --------
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge", "evidence": [
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 25.0},
    ...     {"kind": "point_trial", "length_mm": 25.0, "contact_s": 1.0, "wet_mm": 0.0},
    ...     {"kind": "point_trial", "length_mm": 25.5, "contact_s": 1.0, "wet_mm": 0.5}]}''')
    >>> result = reconcile(case)
    >>> print(f"{result.foramen_mm:.1f} ± {result.foramen_sd_mm:.1f}, {result.working_length_mm}")
    25.3 ± 0.3, 24.75
    """
    return reconcile_many([evidence], target_mm=target_mm, loss=loss)[0]


def reconcile_many(
    cases: Sequence[Evidence], *, target_mm: float | None = None, loss: Loss | None = None
) -> list[Reconciliation]:
    """`reconcile` for many cases at once, in order; much faster than one by one."""
    used = [sources_of(case) for case in cases]
    return _reconcile(cases, used, _losses(cases, target_mm, loss))


def reconcile_sources(
    evidence: Evidence,
    choices: Sequence[tuple[Source, ...]],
    *,
    target_mm: float | None = None,
    loss: Loss | None = None,
) -> list[Reconciliation]:
    """One case weighed with several choices of its sources: some dropped, some distrusted.

    Examples
    --------
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge", "evidence": [
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 22.0}]}''')
    >>> average, reading = sources_of(case)
    >>> believed, doubted = reconcile_sources(
    ...     case, [(average, reading), (average, reading.distrusted(0.1))])
    >>> doubted.foramen_mm > believed.foramen_mm  # closer to the average of 26 mm
    True
    """
    cases = [evidence] * len(choices)
    return _reconcile(cases, choices, _losses(cases, target_mm, loss))


def _losses(cases: Sequence[Evidence], target_mm: float | None, loss: Loss | None) -> list[Loss]:
    if target_mm is not None and loss is not None:
        raise ValueError(
            f"field target_mm: got {target_mm:g} together with a loss; allowed is one of the two; "
            "give the target inside the loss"
        )
    if loss is not None:
        return [loss] * len(cases)
    if target_mm is None:
        target_mm = constants.TARGET_SHORT_OF_FORAMEN_MM.value
    return [Loss.for_context(case.context, target_mm) for case in cases]


def _reconcile(
    cases: Sequence[Evidence], used: Sequence[tuple[Source, ...]], losses: Sequence[Loss]
) -> list[Reconciliation]:
    for case in cases:
        canal_length(case.tooth, case.canal)  # an unknown canal is refused before any work
    posteriors = foramen_posteriors(
        [canal_of(case, sources) for case, sources in zip(cases, used, strict=True)]
    )
    return [
        Reconciliation(case, sources, loss, posterior)
        for case, sources, loss, posterior in zip(cases, used, losses, posteriors, strict=True)
    ]
