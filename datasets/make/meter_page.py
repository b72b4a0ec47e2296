"""Make ``meter_calibration.md``: in words and figures, what the draws meet, and what they miss.

Written by ``meter_parameters.py`` after the table; run alone it writes the page of the table as it
is, and keeps the figures about the calibration's run.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from lengthwise.physics.line import Floats
from lengthwise.reference.electrical_draws import electrical_draws
from meter_behaviours import (
    BEHAVIOURS,
    LAST_MM,
    MEDIUM_BODY_OHM,
    Behaviour,
    draws_of,
    figures_in_extracted_teeth,
    figures_in_patients,
)
from meter_conclusions import CONCLUSIONS, NARROW_MM, conclusions
from meter_unknown import UNKNOWN

PAGE = Path(__file__).resolve().parents[1] / "meter_calibration.md"
MET, NOT_MET = 0.9, 0.1
QUANTILES = (0.05, 0.5, 0.95)


class Run(NamedTuple):
    """Draws before the behaviours, draws of equal weight that tell as much after, draws kept."""

    prior: int
    effective: int
    kept: int


RUN = re.compile(r"of (\d+) draws (\d+) effective ones remain; (\d+) are kept")


def table() -> dict[str, Floats]:
    """Columns of the table of draws."""
    return {name: np.array([getattr(d, name) for d in electrical_draws()]) for name in UNKNOWN}


def verdict(share: float) -> str:
    """In words, how many draws meet a behaviour."""
    if share >= MET:
        return "met"
    return "not met" if share <= NOT_MET else "partly met"


def met(behaviour: Behaviour, figure: Floats) -> tuple[float, float]:
    """Share of draws that meet a behaviour, and the median miss of the others (0 without any)."""
    missed = behaviour.miss(figure)
    others = missed[missed > 0]
    return float(np.mean(missed == 0)), float(np.median(others)) if len(others) else 0.0


def row(*cells: object) -> str:
    """A row of a table in Markdown."""
    return "| " + " | ".join(str(cell) for cell in cells) + " |"


def within(behaviour: Behaviour) -> str:
    """The range in which a behaviour counts as met."""
    low, high, unit = behaviour.low, behaviour.high, "" if behaviour.unit == "1" else behaviour.unit
    if np.isinf(low):
        return f"at most {high:g} {unit}".strip()
    return (
        f"at least {low:g} {unit}".strip()
        if np.isinf(high)
        else f"{low:g} to {high:g} {unit}".strip()
    )


def parameters(columns: dict[str, Floats]) -> Iterator[str]:
    """Ranges before and after."""
    yield row("parameter", "unit", "possible", "5 % / median / 95 % of the draws")
    yield row(*["---"] * 4)
    for name, quantity in UNKNOWN.items():
        spread = " / ".join(f"{float(f'{v:.2g}'):g}" for v in np.quantile(columns[name], QUANTILES))
        possible = f"{quantity.low:g} to {quantity.high:g}"
        unit = quantity.unit.replace("|", "/")
        yield row(f"`{name}`", unit, possible, spread)


def behaviours(figures: dict[str, Floats]) -> Iterator[str]:
    """What is met, and by how much what is not."""
    yield row(
        "behaviour", "agrees when", "tolerance", "figure: 5 % / median / 95 %",
        "draws that meet it", "median miss of the others", "", "source; why this range",
    )  # fmt: skip
    yield row(*["---"] * 8)
    for each in BEHAVIOURS:
        figure = figures[each.name]
        share, size = met(each, figure)
        low, middle, high = np.quantile(figure, QUANTILES)
        yield row(
            each.says, within(each), f"{each.tolerance:g}",
            f"{low:.2f} / {middle:.2f} / {high:.2f}",
            f"{100 * share:.0f} %", f"{size:.2f}" if size else "none", f"**{verdict(share)}**",
            f"{each.source}; {each.reason}",
        )  # fmt: skip


def elsewhere(found: dict[str, Floats]) -> Iterator[str]:
    """What other canals read."""
    yield row(
        "read in", "meter calibrated on", "signal at (mm): 5 % / median / 95 %", "draws without it"
    )
    yield row(*["---"] * 4)
    for each in CONCLUSIONS:
        at = found[each.name]
        low, middle, high = np.quantile(at, QUANTILES)
        on = f"a foramen of {NARROW_MM:.2f} mm" if each.narrow else "the median canal"
        without = f"{100 * np.mean(at >= LAST_MM):.0f} %"
        yield row(each.says, on, f"{low:+.2f} / {middle:+.2f} / {high:+.2f}", without)


TEXT = """# Calibration of what makes electronic readings

Made by `make/meter_parameters.py`. Do not edit: run it again.

## What nobody measured

Wall of the root, file, tissue and body carry the current that a meter sees. For this use nobody
measured them. Each is given the range that is physically possible, and every value in it (of its
logarithm) counts as equally likely at first. Where a range comes from stands beside it in
`lengthwise.reference.electrical`.

{parameters}

## How they were calibrated

Draws over all ranges at once (Sobol points) go through the leaky line. A draw under which
published behaviours come out gains weight over one under which they do not: a figure outside its
range by one tolerance costs half a unit of log-likelihood, by two tolerances two units. Ranges and
tolerances are judgements, wide where a source gives words and no figures. Draws are taken in
proportion to their weights and are then equally likely.
So of {run.prior} draws {run.effective} effective ones remain; {run.kept} are kept in
`meter_parameters.csv`.

Behaviours of extracted teeth are computed as they were seen: roots in agar or alginate, about as
conductive as saline, with {beside:g} ohm beside them and no body, read with the curve of the same
draw. The curve is made on the median canal of the population (`meter_canal.csv`), full of saline,
with a size 15.

Most parameters stay loosely determined: compare the last two columns above. What follows holds
over all draws and not for one of them.

## What is met, and what is missed

Places are mm past the foramen, negative short of it. Where the signal has not come at {last:g} mm
past, that is counted as its place. *Met*: by at least {met:.0f} % of the draws. *Not met*: by at
most {not_met:.0f} %.

{behaviours}

What is missed, in words:

- Widened from 40 to 60, a canal reads {less:.2f} mm less short in blood instead of more: the median
  foramen, wider than 0.40 mm, is still there at size 40. If the foramen too is 0.40 mm wide, the
  canal widened to 60 reads more short in every draw.
- In hypochlorite a size 10 is not within half a millimetre in all three widths; its error is
  {off:.2f} mm in the middle draw, mostly past the foramen in the widest canal. Current leaves all
  along the file there, and the place of its tip counts for little.
- With some draws the widest foramen reads right or a little past instead of short, or a dry canal
  gives the signal a little early instead of late.

## What other canals read

Nothing but the canal differs from the one that the meter was calibrated on.

{elsewhere}

Robust, in every draw:

- A foramen wider than the calibration's reads short. Against a foramen of {narrow:.2f} mm the
  signal comes at {young:+.2f} mm in one of 0.50 mm and at {old:+.2f} mm in one of 0.68 mm.
- A longer root moves the signal apically, never coronally: there is more wall through which
  current leaks.

Open, because it hangs on what nobody measured and on the canal of the calibration:

- How much length by itself does. Against a foramen of {narrow:.2f} mm a root of 18 mm moves the
  signal by {long_narrow:+.2f} mm. Against the median canal, whose foramen is wide and whose curve
  is flat there, the same change of the quotient is worth {long:+.2f} mm.
- What a long canal with a wide body reads: from a few tenths to no foramen signal at all.

Practitioners who report that long teeth jump or never reach the signal are neither refuted by this
physics nor proved right: no study was found.
"""


def page(run: Run, columns: dict[str, Floats]) -> str:
    """The whole page, in Markdown."""
    draws = draws_of(columns)
    found = conclusions(draws)
    middle = {name: float(np.median(at)) for name, at in found.items()}
    figures = figures_in_patients(draws) | figures_in_extracted_teeth(draws)
    return TEXT.format(
        run=run,
        parameters="\n".join(parameters(columns)),
        behaviours="\n".join(behaviours(figures)),
        elsewhere="\n".join(elsewhere(found)),
        beside=MEDIUM_BODY_OHM,
        last=LAST_MM,
        met=100 * MET,
        not_met=100 * NOT_MET,
        narrow=NARROW_MM,
        less=-float(np.median(figures["blood_40_60"])),
        off=float(np.median(figures["hypochlorite"])),
        young=middle["young_narrow"],
        old=middle["old_narrow"],
        long_narrow=middle["long_narrow"],
        long=middle["long_median"],
    )


def main() -> None:
    """Write the page of the table as it is."""
    prior, effective, kept = map(
        int, RUN.findall(" ".join(PAGE.read_text(encoding="utf-8").split()))[0]
    )
    PAGE.write_text(page(Run(prior, effective, kept), table()), encoding="utf-8")


if __name__ == "__main__":
    main()
