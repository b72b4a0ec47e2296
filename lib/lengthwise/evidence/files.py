"""What stands in JSON and CSV files of evidence, before it is checked as a case.

A file is read whole or not at all.
"""

import csv
import io
import json
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, NoReturn

from pydantic import ValidationError

from .context import Context
from .errors import EvidenceError, explain, one_of
from .records import KINDS

SCHEMA: Literal["lengthwise/evidence/1"] = "lengthwise/evidence/1"
LARGEST_FILE_BYTES = 5_000_000
CASE_COLUMNS = ("case", "tooth", "canal")
CONTEXT_COLUMNS = tuple(Context.model_fields)
RECORD_COLUMNS = tuple(dict.fromkeys(name for kind in KINDS for name in kind.model_fields))
LIST_COLUMNS = ("time_s", "depth_mm", "indicated")
TEXT_COLUMNS = frozenset(
    (
        "kind",
        "reference_point",
        "stage",
        "liquid_in_canal",
        "technique",
        "mark_site",
        "liquid",
    )
)
WHOLE_NUMBER_COLUMNS = frozenset(("visit", "file_size", "size"))
YES_NO_COLUMNS = frozenset(("lesion", "near_nerve_or_sinus", "ran_freely"))


@dataclass(frozen=True)
class Written:
    """One case as it was written, and how its places are called where it was.

    Attributes
    ----------
    data : the case by the fields of the schema.
    name : the case's name in a CSV file; None for JSON.
    lines : the line of each record in a CSV file; None for JSON.
    """

    data: dict[str, Any]
    name: str | None = None
    lines: tuple[int, ...] | None = None

    def explain(self, error: ValidationError) -> str:
        """What is wrong with the case, in sentences that say where it stands."""
        records = self.data.get("evidence")
        kinds = [
            str(record.get("kind", "")) if isinstance(record, dict) else ""
            for record in (records if isinstance(records, list) else [])
        ]
        if self.lines is None:
            return explain(error, kinds, "record")
        told = explain(error, kinds, "row", self.lines)
        # What is wrong with the case as a whole is told where the case begins.
        place = f"Row {self.lines[0]} (case {self.name!r}), field "
        return re.sub("^Field ", place, told, flags=re.MULTILINE)


def written_in_json(text: str) -> Written:
    """One case from JSON text. Raises `EvidenceError`."""
    try:
        data = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_each_key_once)
    except EvidenceError:
        raise
    except RecursionError:
        raise EvidenceError(
            "The file: brackets are nested thousands deep; allowed is the evidence schema; "
            "export it again"
        ) from None
    except json.JSONDecodeError as error:
        raise EvidenceError(
            f"The file: line {error.lineno} is not JSON ({error.msg.lower()}); allowed is one "
            f'case, beginning {{"schema": "{SCHEMA}", ...; decimal numbers have a point, such '
            "as 25.5, and quotes and brackets close"
        ) from None
    except ValueError:
        raise EvidenceError(
            "The file: a number in it has thousands of digits; allowed are lengths and times such "
            "as 25.5; export it again"
        ) from None
    if not isinstance(data, dict):
        raise EvidenceError(
            f"The file: got a {type(data).__name__}; allowed is one case in braces; see the "
            "evidence schema"
        )
    if "schema" not in data:
        raise EvidenceError(f'Field schema: missing; add "schema": "{SCHEMA}"')
    return Written(data)


def written_cases(path: Path) -> dict[str, Written]:
    """Every case of a CSV file (or the one of a JSON file), by name, in the file's order.

    Raises `EvidenceError`.
    """
    if path.suffix.lower() not in (".json", ".csv"):
        raise EvidenceError(
            f"{path.name}: got a file of type {path.suffix or 'none'!r}; allowed are .json and "
            ".csv; save it as one of them"
        )
    try:
        if path.suffix.lower() == ".json":
            return {path.stem: written_in_json(_text(path))}
        return _cases_of_csv(path)
    except EvidenceError as error:
        told = str(error).removeprefix(f"{path.name}: ").removeprefix("The file: ")
        raise EvidenceError(f"{path.name}: {told}") from None


def _cases_of_csv(path: Path) -> dict[str, Written]:
    grouped: dict[str, list[tuple[int, dict[str, str]]]] = {}
    for line, row in _rows(_text(path)):
        grouped.setdefault(row.get("case", "") or path.stem, []).append((line, row))
    return {name: _case_from_rows(name, rows) for name, rows in grouped.items()}


def _text(path: Path) -> str:
    if not path.is_file():
        raise EvidenceError(f"{path.name}: there is no such file; check the name and the folder")
    size = path.stat().st_size
    if size > LARGEST_FILE_BYTES:
        raise EvidenceError(
            f"{path.name}: got {size / 1e6:.0f} MB; allowed are {LARGEST_FILE_BYTES / 1e6:.0f} MB; "
            "this is not a file of evidence"
        )
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise EvidenceError(
            f"{path.name}: is not UTF-8 text; save it as 'CSV UTF-8' or as UTF-8 JSON"
        ) from None
    if not text.strip():
        raise EvidenceError(f"{path.name}: is empty; allowed is at least one record")
    return text


def _rows(text: str) -> list[tuple[int, dict[str, str]]]:
    """The rows of a CSV text with the line each stands on; the header is line 1."""
    reader = csv.reader(io.StringIO(text), strict=True)
    try:
        with _long_cells():
            written = [(cells, reader.line_num) for cells in reader]
    except csv.Error as error:
        raise EvidenceError(
            f"Row {reader.line_num}: is not CSV ({error}); save the sheet again as 'CSV UTF-8'"
        ) from None
    header = [name.strip() for name in written[0][0]]
    _check_header(header)
    rows: list[tuple[int, dict[str, str]]] = []
    for cells, line in written[1:]:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(header):
            raise EvidenceError(
                f"Row {line}: got {len(cells)} cells; allowed are {len(header)}, as in the header; "
                "decimal numbers have a point (25.5), not a comma, and columns are separated by "
                "commas"
            )
        named = {name: cell.strip() for name, cell in zip(header, cells, strict=True)}
        rows.append((line, named))
    if not rows:
        raise EvidenceError("The file has a header and no rows; add a row for each record")
    return rows


@contextmanager
def _long_cells() -> Iterator[None]:
    """Cells as long as a file may be. The limit is that of the whole process: it is put back."""
    before = csv.field_size_limit(LARGEST_FILE_BYTES)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _check_header(header: list[str]) -> None:
    allowed = {*CASE_COLUMNS, *CONTEXT_COLUMNS, *RECORD_COLUMNS}
    for place, name in enumerate(header, start=1):
        if not name:
            raise EvidenceError(
                f"Row 1: the heading of column {place} is empty; allowed is a name in every "
                "column; delete the column, or the commas at the ends of the rows"
            )
        if header.count(name) > 1:
            raise EvidenceError(f"Row 1, field {name!r}: stands twice; allowed is once; rename one")
        if name not in allowed:
            separator = "; columns are separated by commas" if ";" in name else ""
            raise EvidenceError(
                f"Row 1, field {name[:60]!r}: is not a column; allowed are "
                f"{one_of(sorted(allowed))}{separator}; check its spelling"
            )
    for name in ("tooth", "canal", "kind", "reference_point"):
        if name not in header:
            raise EvidenceError(f"Row 1, field {name!r}: missing; add this column")


def _case_from_rows(name: str, rows: list[tuple[int, dict[str, str]]]) -> Written:
    first_line, first = rows[0]
    shared = ("tooth", "canal", *CONTEXT_COLUMNS)
    for line, row in rows[1:]:
        for column in shared:
            if row.get(column, "") != first.get(column, ""):
                raise EvidenceError(
                    f"Row {line}, field {column}: got {row.get(column, '')!r}, but row "
                    f"{first_line} of case {name!r} has {first.get(column, '')!r}; allowed is one "
                    "value for a case; correct it, or give the row another case"
                )
    context = {c: _value(c, first[c], first_line) for c in CONTEXT_COLUMNS if first.get(c)}
    records = [
        {c: _value(c, row[c], line) for c in RECORD_COLUMNS if row.get(c)} for line, row in rows
    ]
    data = {
        "schema": SCHEMA,
        "tooth": first["tooth"],
        "canal": first["canal"],
        "reference_point": first["reference_point"],
        "context": context,
        "evidence": records,
    }
    return Written(data, name, tuple(line for line, _ in rows))


def _value(column: str, cell: str, line: int) -> object:
    """A cell's text as what its column holds."""
    if column in LIST_COLUMNS:
        return [_number(column, part, line, float) for part in cell.split(";")]
    if column in WHOLE_NUMBER_COLUMNS:
        return _number(column, cell, line, int)
    if column in YES_NO_COLUMNS:
        words = {
            "true": True,
            "yes": True,
            "1": True,
            "false": False,
            "no": False,
            "0": False,
        }
        if cell.casefold() not in words:
            raise EvidenceError(
                f"Row {line}, field {column}: got {cell!r}; allowed are 'true' and 'false'; "
                "write one of them, or leave the cell empty"
            )
        return words[cell.casefold()]
    if column in TEXT_COLUMNS or column in CONTEXT_COLUMNS:
        return cell
    return _number(column, cell, line, float)


def _number(column: str, cell: str, line: int, kind: Callable[[str], float]) -> float | None:
    if not cell.strip() and column == "indicated":
        return None  # the meter showed nothing at that moment
    try:
        if "_" in cell:
            raise ValueError(cell)  # Python's own way to part digits, and a slip of the hand here
        return kind(cell)
    except ValueError:
        allowed = (
            "a whole number; write it in digits alone, without a point, such as 2"
            if column in WHOLE_NUMBER_COLUMNS
            else "a number; write it with a point and without a unit, such as 25.5"
        )
        raise EvidenceError(
            f"Row {line}, field {column}: got {cell[:60]!r}; allowed is {allowed}"
        ) from None


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    read = dict(pairs)
    if len(read) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise EvidenceError(
            f"The file, field {twice[:60]!r}: stands twice in one pair of braces; allowed is once; "
            "take one of them out"
        )
    return read


def _refuse_constant(name: str) -> NoReturn:
    raise EvidenceError(
        f"The file: got {name}; allowed are finite numbers; write null, or leave the field out, "
        "where nothing was measured"
    )
