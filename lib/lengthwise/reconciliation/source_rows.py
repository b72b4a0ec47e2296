"""What each source of a case says by itself, and what the others say of it."""

from dataclasses import dataclass, replace

import numpy as np

from .families import Canal
from .posterior import rough_posteriors
from .sources import Source


@dataclass(frozen=True)
class SourceRow:
    """What one source says, and what the others say of it.

    Attributes
    ----------
    name, kind : as in `Source`.
    implied_mm, sd_mm : the foramen (mm) by this source alone, and its standard uncertainty.
    trust : probability that the source is sound, after all evidence.
    residual : (implied - the others' foramen) over the uncertainty of that difference.
    shift_without_mm : how the foramen moves (mm) when this source is left out.
    """

    name: str
    kind: str
    implied_mm: float
    sd_mm: float
    trust: float
    residual: float
    shift_without_mm: float


def weigh_sources(canal: Canal) -> tuple[SourceRow, ...]:
    """One row a source: alone, left out, and how probable it is that it is sound.

    Examples
    --------
    >>> from lengthwise.evidence import Evidence
    >>> from lengthwise.reconciliation.families import canal_of
    >>> from lengthwise.reconciliation.sources import sources_of
    >>> case = Evidence.from_json('''{"schema": "lengthwise/evidence/1", "tooth": "13",
    ...     "canal": "single", "reference_point": "incisal edge", "evidence": [
    ...     {"kind": "electronic_reading", "foramen_signal_mm": 25.0},
    ...     {"kind": "tactile_stop", "length_mm": 19.0}]}''')
    >>> for row in weigh_sources(canal_of(case, sources_of(case))):
    ...     print(f"{row.kind}: {row.implied_mm:.1f} mm by itself")
    average_length: 26.0 mm by itself
    electronic_reading: 25.0 mm by itself
    tactile_stop: 20.9 mm by itself
    """
    used = canal.sources
    choices: list[tuple[Source, ...]] = [used]
    for i, source in enumerate(used):
        others = (*used[:i], *used[i + 1 :])
        choices += [(source,), others, (*others, replace(source, trust=1.0))]
    together, *posteriors = rough_posteriors([replace(canal, sources=choice) for choice in choices])
    rows = []
    for i, source in enumerate(used):
        alone, without, believed = posteriors[3 * i : 3 * i + 3]
        # Where nothing else has spoken, there is nothing that it could disagree with.
        apart = alone.mean_mm - without.mean_mm if len(used) > 1 else 0.0
        moved = without.mean_mm - together.mean_mm if len(used) > 1 else 0.0
        # Bayes: of the evidence for all states of the source, the part that its soundness has
        evidence_ratio = np.exp(believed.log_evidence - together.log_evidence)
        rows.append(
            SourceRow(
                name=source.name,
                kind=source.kind,
                implied_mm=alone.mean_mm,
                sd_mm=alone.sd_mm,
                trust=float(min(source.trust * evidence_ratio, 1.0)),
                residual=apart / float(np.hypot(alone.sd_mm, without.sd_mm)),
                shift_without_mm=moved,
            )
        )
    return tuple(rows)
