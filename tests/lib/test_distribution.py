"""What is built and locked works on a machine that is not this one."""

import re
import subprocess
import sys
import tarfile
import zipfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import house
import pytest

LOCK = house.ROOT / "requirements.txt"
SYSTEMS = (
    "x86_64-pc-windows-msvc", "aarch64-apple-darwin", "x86_64-apple-darwin",
    "x86_64-manylinux_2_28",
)  # fmt: skip
PYTHONS = ("3.11", "3.13")
# Packages that exist only as source, with the reason why one is bearable. There is none.
SOURCE_ONLY: dict[str, str] = {}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A source distribution of the library and the wheel made from it."""
    folder = tmp_path_factory.mktemp("dist")
    library = house.ROOT / "lib"
    outcome = house.run(sys.executable, "-m", "build", "--no-isolation", library, "-o", folder)
    assert outcome.passed, outcome.words
    return folder


@pytest.mark.slow
def test_an_installed_wheel_reads_its_own_tables_far_from_the_checkout(
    built: Path, tmp_path: Path
) -> None:
    (wheel,) = built.glob("*.whl")
    site = tmp_path / "site"
    done = house.run(
        sys.executable, "-m", "pip", "install", "--no-deps", "--no-index", "--target", site, wheel
    )
    assert done.passed, done.words
    code = (
        "import lengthwise, lengthwise.reference.files as files, lengthwise.reference.tables as t;"
        "print(lengthwise.__file__); print(files.dataset_folder()); print(t.tooth('13').fdi)"
    )
    used = house.run(sys.executable, "-c", code, cwd=tmp_path, PYTHONPATH=str(site))
    assert used.passed, used.words
    package, tables, tooth = used.words.split()
    assert Path(package) == site / "lengthwise" / "__init__.py"
    assert Path(tables) == site / "lengthwise" / "_datasets"
    assert tooth == "13"


@pytest.mark.slow
def test_the_wheel_carries_every_table_and_no_script_key_or_class(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    tables = {
        f"lengthwise/_datasets/{path.name}"
        for path in (house.ROOT / "datasets").iterdir()
        if path.is_file()
    }
    assert tables <= names
    assert house.strange_members(names) == []
    known = {path.relative_to(house.ROOT / "lib").as_posix() for path in house.project_files()
             if path.is_relative_to(house.ROOT / "lib")}  # fmt: skip
    assert {name for name in names if ".dist-info/" not in name} <= known | tables
    with zipfile.ZipFile(wheel) as opened:
        texts = {name: opened.read(name).decode("utf-8") for name in names}
    items = house.item_words(house.ROOT / "course" / "items")
    assert house.telling(texts, items) == []
    one = next(words for words in items.values() if len(words) >= house.LONG_CHARS)
    assert house.telling({**texts, "planted.py": f'KEY = "{one}"'}, items)


@pytest.mark.slow
def test_the_source_distribution_carries_the_tables_too(built: Path) -> None:
    (archive,) = built.glob("*.tar.gz")
    with tarfile.open(archive) as opened:
        names = {name.split("/", 1)[1] for name in opened.getnames()}
    assert "datasets/teeth.csv" in names
    assert "LICENSE" in names


@pytest.mark.slow
def test_the_lock_resolves_from_wheels_alone_on_every_supported_system() -> None:
    assert SOURCE_ONLY == {}, "an exception must be named to the resolver too"
    locked = set(re.findall(r"^([a-z0-9.-]+)==", LOCK.read_text(encoding="utf-8"), re.MULTILINE))
    pairs = [(system, python) for system in SYSTEMS for python in PYTHONS]
    with ThreadPoolExecutor(8) as pool:
        outcomes = list(pool.map(lambda pair: house.resolved_elsewhere(*pair, LOCK), pairs))
    for pair, outcome in zip(pairs, outcomes, strict=True):
        assert outcome.passed, f"{pair}: {outcome.words}"
        needed = set(re.findall(r"^([a-z0-9.-]+)==", outcome.words, re.MULTILINE))
        assert len(needed) > 100
        assert needed <= locked, f"{pair}: not in the lock: {sorted(needed - locked)}"


@pytest.mark.slow
def test_a_lock_that_leaves_out_macs_with_an_intel_processor_is_found(tmp_path: Path) -> None:
    # A version whose only files for such Macs are sources.
    spoilt = tmp_path / "requirements.txt"
    text = LOCK.read_text(encoding="utf-8")
    spoilt.write_text(re.sub(r"^(argon2-cffi-bindings)==.*$", r"\1==26.1.0", text, flags=re.M))
    outcome = house.resolved_elsewhere("x86_64-apple-darwin", "3.13", spoilt)
    assert not outcome.passed
    assert "argon2-cffi-bindings" in outcome.words


def test_a_build_without_the_tables_is_refused(tmp_path: Path) -> None:
    code = (
        "import runpy, sys, pathlib; m = runpy.run_path(sys.argv[1]);"
        "m['tables'](pathlib.Path(sys.argv[2]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, house.ROOT / "lib" / "hatch_build.py", tmp_path / "lib"],
        capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode != 0
    assert "build from a whole checkout" in done.stderr
