"""The house rules hold in this checkout."""

from pathlib import Path

import house
import pytest

PACKAGE = house.ROOT / "lib" / "lengthwise"
NOTEBOOKS = [path for path in house.project_files() if path.suffix == ".ipynb"]


def notebook_name(path: Path) -> str:
    return path.relative_to(house.ROOT).as_posix()


def test_modules_import_only_from_floors_below_and_only_what_their_floor_knows() -> None:
    outcome = house.contracts(PACKAGE.parent)
    assert outcome.passed, outcome.words


def test_no_module_reaches_around_the_floors_through_the_front_of_the_package() -> None:
    assert house.root_imports(PACKAGE) == []


def test_the_library_is_typed_strictly(tmp_path: Path) -> None:
    outcome = house.types(PACKAGE, cache=tmp_path)
    assert outcome.passed, outcome.words


def test_code_and_notebooks_pass_the_linter() -> None:
    outcome = house.lint(house.ROOT)
    assert outcome.passed, outcome.words


def test_code_is_laid_out_by_the_formatter() -> None:
    outcome = house.layout(house.ROOT)
    assert outcome.passed, outcome.words


def test_notebooks_store_outputs_only_where_they_are_meant_to_be_kept() -> None:
    outcome = house.stripped(*NOTEBOOKS)  # names each that does
    assert outcome.passed, outcome.words


@pytest.mark.parametrize("notebook", NOTEBOOKS, ids=notebook_name)
def test_a_notebook_has_one_title_and_no_stored_picture(notebook: Path) -> None:
    assert house.notebook_problems(notebook.read_text(encoding="utf-8")) == []


def test_no_module_is_longer_than_300_lines() -> None:
    assert house.long_modules(PACKAGE) == []


def test_importing_the_library_loads_nothing_heavy() -> None:
    assert house.heavy_after("import lengthwise") == []


def test_weighing_evidence_loads_nothing_that_draws() -> None:
    # scipy.stats alone takes longer to load than everything else together.
    assert house.heavy_after("import lengthwise.evidence, lengthwise.reconciliation") == []


def test_no_file_names_a_path_of_one_machine() -> None:
    assert house.machine_paths(house.project_files()) == []


def test_the_top_level_holds_only_what_belongs_there() -> None:
    names = {path.relative_to(house.ROOT).parts[0] for path in house.project_files()}
    assert house.strange_entries(names) == []
    assert {"README.md", "DEVELOPERS.md", "requirements.txt"} <= names


def test_the_lock_pins_versions_and_names_no_index() -> None:
    lock = (house.ROOT / "requirements.txt").read_text(encoding="utf-8")
    assert house.loose_lines(lock) == []
    assert len(lock.splitlines()) > 100
