"""Find and read the tables of published figures that come with the course.

An installed wheel carries them as ``lengthwise/_datasets``; a checkout has them in ``datasets/``
at its top. Nothing is read before the first question, and each file is read once.
"""

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType

Row = Mapping[str, str]


def dataset_folder() -> Path:
    """Folder that holds the tables: inside the package, else at the top of the checkout.

    Raises
    ------
    FileNotFoundError
        Neither place has the tables, so the installation is incomplete.

    Examples
    --------
    >>> (dataset_folder() / "teeth.csv").is_file()
    True
    """
    inside = Path(str(files("lengthwise"))) / "_datasets"
    checkout = Path(__file__).resolve().parents[3] / "datasets"
    for folder in (inside, checkout):
        if (folder / "teeth.csv").is_file():
            return folder
    raise FileNotFoundError(
        f"the tables of published figures are missing: looked in {inside} and {checkout}; "
        "install lengthwise again, or run it from a complete copy of the course"
    )


@cache
def read_rows(table: str) -> tuple[Row, ...]:
    """Rows of one table, as read-only mappings from column name to text.

    Parameters
    ----------
    table : str
        Name without ending, such as ``"teeth"``.

    Raises
    ------
    ValueError
        There is no such table.

    Examples
    --------
    >>> read_rows("shortening")[0]["mean_mm"]
    '0.48'
    """
    folder = dataset_folder()
    path = folder / f"{table}.csv"
    known = sorted(each.stem for each in folder.glob("*.csv"))
    if table not in known:
        raise ValueError(
            f"field table: there is no table {table!r}; allowed are {', '.join(known)}; check its "
            "spelling"
        )
    with path.open(newline="", encoding="utf-8") as stream:
        return tuple(MappingProxyType(row) for row in csv.DictReader(stream))


def optional_number(text: str) -> float | None:
    """The number in a cell, or None where the cell is empty.

    Examples
    --------
    >>> optional_number("0.33"), optional_number("")
    (0.33, None)
    """
    return float(text) if text else None
