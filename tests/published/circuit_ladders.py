"""Ladders of the line, solved in plain ways: by ngspice, and by a loop over Python numbers."""

import re
import subprocess

import numpy as np
from lengthwise.physics.line import File, Filling, LineShape, Materials
from lengthwise.physics.line_cells import cut, parts
from lengthwise.physics.line_ladder import Ladder, ladder
from lengthwise.physics.line_tips import tips_of

NO_WALL = {"cementum_ohm_m2": 1e12, "cementum_f_per_m2": 0.0}


def canine() -> LineShape:
    """A canal in numbers of an upper canine: constriction 0.7 mm above a foramen of 0.5 mm."""
    return LineShape(
        np.array([[0.0, 0.7, 1.5, 4.5, 16.0]]),
        np.array([[0.25, 0.14, 0.22, 0.28, 0.45]]),
        np.array([[0.5, 0.8, 1.2, 1.8, 2.8]]),
    )


def tube(radius_mm: float, length_mm: float = 15.0) -> LineShape:
    """A canal of one width in a root of 5 mm."""
    two = np.ones((1, 2))
    return LineShape(np.array([[0.0, length_mm]]), radius_mm * two, 2.5 * two)


def ladders(
    shape: LineShape, file: File, filling: Filling, materials: Materials, tips_mm, hertz, cells: int
) -> Ladder:
    """Ladders of tips in the first canal, or one row of tips for each canal."""
    past = np.broadcast_to(np.atleast_2d(tips_mm), (len(shape), np.size(tips_mm)))
    tips = tips_of(shape, file, filling, materials, past, 2 * np.pi * np.asarray(hertz))
    return ladder(tips, cut(shape, tips, cells // int(parts(tips).sum())))


def by_hand(of: Ladder, f: int, i: int) -> complex:
    """Admittance of one ladder at one frequency, in Python numbers, by elimination of its nodes.

    The nodes' equations are A φ = J with the file at 1; its current is what leaves it to the nodes.
    """
    series = [1 / ohm for ohm in of.series_ohm[:, i].tolist()]
    to_file, to_tissue = of.to_file[:, f, i].tolist(), of.to_tissue[:, f, i].tolist()
    diagonal, drive = [], []
    for k, (file, tissue) in enumerate(zip(to_file, to_tissue, strict=True)):
        own = file + tissue + (series[k - 1] if k else 0) + (series[k] if k < len(series) else 0)
        if k:
            share = series[k - 1] / diagonal[-1]
            own -= share * series[k - 1]
            file += share * drive[-1]
        diagonal.append(own)
        drive.append(file)
    potential = drive[-1] / diagonal[-1]
    current = to_tissue[-1] * potential
    for k in range(len(series) - 1, -1, -1):
        potential = (drive[k] + series[k] * potential) / diagonal[k]
        current += to_tissue[k] * potential
    return current


def by_ngspice(of: Ladder, f: int, hertz: float) -> np.ndarray:
    """Admittances of all ladders at one frequency, from one batch run of ngspice."""
    lines = ["ladders of a leaky line", "v1 file 0 dc 0 ac 1"]
    for i in range(of.series_ohm.shape[1]):
        lines.append(f"vt{i} t{i} 0 dc 0 ac 0")  # measures the current into the tissue
        for k, ohm in enumerate(of.series_ohm[:, i]):
            lines.append(f"rs{i}_{k} n{i}_{k} n{i}_{k + 1} {ohm:.17g}")
        for end, part in (("file", of.to_file), (f"t{i}", of.to_tissue)):
            for k, y in enumerate(part[:, f, i]):
                # What leads nowhere has no element; the rest is a resistor beside a capacitor.
                if y.real > 0:
                    lines.append(f"r{end}{i}_{k} n{i}_{k} {end} {1 / y.real:.17g}")
                if y.imag > 0:
                    farad = y.imag / (2 * np.pi * hertz)
                    lines.append(f"c{end}{i}_{k} n{i}_{k} {end} {farad:.17g}")
    prints = [f"print i(vt{i})" for i in range(of.series_ohm.shape[1])]
    lines += [".control", "set numdgt=15", f"ac lin 1 {hertz:.17g} {hertz:.17g}", *prints, ".endc"]
    run = subprocess.run(
        ["ngspice", "-b"], input="\n".join([*lines, ".end", ""]), capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    number = r"([-+0-9.eE]+)"
    found = re.findall(rf"i\(vt\d+\) = {number},{number}", run.stdout)
    assert len(found) == of.series_ohm.shape[1], run.stdout[-500:] + run.stderr[-500:]
    return np.array([complex(float(re_), float(im)) for re_, im in found])
