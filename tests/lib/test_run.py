"""The one command that runs the tests: what it installs, leaves out, and calls a failure."""

import importlib.util
import os
import shutil
import sys
from pathlib import Path
from types import ModuleType

import house
import pytest


@pytest.fixture(scope="module")
def run() -> ModuleType:
    spec = importlib.util.spec_from_file_location("run_tests", house.ROOT / "tests" / "run.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


SAMPLES = {
    "skips": "import pytest\n\n\ndef test_it():\n    pytest.skip('no tool')\n",
    "skips_whole_file": "import pytest\n\npytest.skip('no tool', allow_module_level=True)\n",
    "fails_as_expected": (
        "import pytest\n\n\n@pytest.mark.xfail\ndef test_it():\n    assert False\n"
    ),
}


def run_sample(folder: Path, source: str, **variables: str) -> house.Outcome:
    shutil.copy(house.ROOT / "tests" / "conftest.py", folder / "conftest.py")
    (folder / "test_sample.py").write_text(source + "\n\ndef test_sound():\n    pass\n")
    return house.run(
        sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider",
        "-c", house.ROOT / ".pytest.ini", "--rootdir", folder, folder,
        **{"LENGTHWISE_NO_SKIP": "", "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", **variables},
    )  # fmt: skip


@pytest.mark.parametrize("name", list(SAMPLES))
def test_a_skip_passes_by_itself_and_fails_where_none_is_allowed(tmp_path: Path, name: str) -> None:
    allowed = run_sample(tmp_path, SAMPLES[name] + "")
    # A file skipped whole leaves nothing to run, which is pytest's own failure.
    assert allowed.passed or "skipped" in allowed.words
    forbidden = run_sample(tmp_path, SAMPLES[name], LENGTHWISE_NO_SKIP="1")
    assert not forbidden.passed
    assert "a skip counts as a failure here" in forbidden.words
    assert "skipped" not in forbidden.words.splitlines()[-1]


def test_the_script_for_a_fresh_machine_allows_no_skip_and_can_be_run() -> None:
    script = house.ROOT / ".ci" / "run"
    assert os.access(script, os.X_OK)
    assert "LENGTHWISE_NO_SKIP=1 exec python3 tests/run.py" in script.read_text()


def test_missing_programs_are_installed_only_where_that_is_allowed(run: ModuleType) -> None:
    calls: list[list[str]] = []
    here = {"apt-get"}

    def which(name: str) -> str | None:
        return name if name in here else None

    def call(command: list[str], **_: object) -> int:
        calls.append(command)
        if "install" in command:
            here.update(names[0] for names, package, _ in run.SYSTEM if package in command)
        return 0

    missing = run.missing_programs(which)
    assert [package for package, _ in missing] == [
        "chromium",
        "ngspice",
        "node-configurable-http-proxy",
        "postgresql",
    ]
    assert run.install_programs(missing, which, lambda: False, call) == missing
    assert calls == []
    assert run.install_programs(missing, which, lambda: True, call) == []
    assert [command[1] for command in calls] == ["update", "install"]


def test_what_is_skipped_is_said_in_one_line(run: ModuleType) -> None:
    line = run.skip_line([("chromium", "browser"), ("ngspice", "ngspice")])
    assert "\n" not in line
    assert "the tests marked browser, because chromium is not installed" in line


def test_benchmarks_run_alone_after_the_others(
    run: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "bench").mkdir()
    monkeypatch.setattr(run, "HERE", str(tmp_path))
    together, alone = run.rounds(["--quick", "-k", "lib"])
    assert together[:2] == ["-n", "3"]
    assert str(tmp_path / "bench") in together[together.index("--ignore") + 1 :]
    assert "-n" not in alone
    assert alone == ["-m", "not slow", "-k", "lib", str(tmp_path / "bench")]


def test_a_file_of_tests_that_was_named_runs_by_itself(run: ModuleType) -> None:
    assert run.rounds([__file__ + "::test_x", "-x"]) == [[__file__ + "::test_x", "-x"]]


@pytest.mark.parametrize(
    ("codes", "expected"), [([0, 0], 0), ([0, 5], 0), ([5, 5], 5), ([0, 1], 1), ([2, 0], 2)]
)
def test_any_failing_round_fails_the_run_and_so_does_finding_nothing(
    run: ModuleType, codes: list[int], expected: int
) -> None:
    assert run.verdict(codes) == expected
