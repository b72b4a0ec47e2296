"""The line as a ladder of resistances and admittances, and its admittance in one sweep."""

from dataclasses import dataclass

import numpy as np

from .line import Floats
from .line_cells import Cells
from .line_tips import Complexes, Tips


@dataclass(frozen=True, eq=False)
class Ladder:
    """N ladders at f frequencies, from the orifice down.

    Attributes
    ----------
    series_ohm
        From each node to the next, (m, N).
    to_file, to_tissue
        Admittance (S) from each node to the file and to the tissue, (m + 1, f, N).
    """

    series_ohm: Floats
    to_file: Complexes
    to_tissue: Complexes


def ladder(tips: Tips, line: Cells) -> Ladder:
    """Half of what a cell leads to file and tissue at each of its ends; tip and ends as they are.

    Such a ladder is of second order in the cells' length, and passive however long they are.
    """
    interface, dentine, cementum = (
        1 / each for each in (tips.interface_per_mm2, tips.dentine_per_mm, tips.cementum_per_mm2)
    )
    to_file = _at_nodes(line.file_mm2, interface + line.lift_ohm_mm2[:, None])
    shell = line.wall_log[:, None] * dentine
    shell += (1 / line.outer_mm[:, None]) * cementum
    to_tissue = _at_nodes(line.wall_mm, shell)
    face = line.tip_mm2 / (interface + line.tip_mm2 * line.tip_ohm)
    to_file[line.tip_node, :, np.arange(len(tips.canal))] += face.T
    to_tissue[0] += tips.flooded_siemens
    to_tissue[-1] += line.end_siemens
    return Ladder(line.series_ohm, to_file, to_tissue)


def admittance(of: Ladder) -> Complexes:
    """Admittance (S) between file and tissue, (f, N).

    What lies coronal of a node is a delta of three admittances: node to file, node to tissue, file
    to tissue. Passing a resistance makes a star of it and back, which only adds and multiplies
    positive parts: no digits are lost, however well or badly something conducts.
    """
    file, tissue = of.to_file[0], of.to_tissue[0]
    direct = np.zeros_like(file)
    for ohm, more_file, more_tissue in zip(
        of.series_ohm, of.to_file[1:], of.to_tissue[1:], strict=True
    ):
        passed = 1 / (1 + ohm * (file + tissue))
        direct += file * tissue * (ohm * passed)
        file = file * passed + more_file
        tissue = tissue * passed + more_tissue
    return np.asarray(direct + file * tissue / (file + tissue))


def _at_nodes(size: Floats, impedance: Complexes) -> Complexes:
    """Half of size over impedance of every cell at each of its ends, (m + 1, f, N)."""
    nodes = np.empty((len(impedance) + 1, *impedance.shape[1:]), dtype=np.complex128)
    half = np.divide((size / 2)[:, None], impedance, out=impedance)
    nodes[0], nodes[-1] = half[0], half[-1]
    np.add(half[:-1], half[1:], out=nodes[1:-1])
    return nodes
