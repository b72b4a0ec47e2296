"""Put the tables of the datasets folder into what is built.

A checkout keeps them beside ``lib``; an unpacked source distribution carries them inside.
An editable install needs no copy: the loader finds them in the checkout.
"""

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

# Scripts that make the tables stay behind; the tables and what describes them travel.
CARRIED = (".csv", ".json", ".md")


def tables(root: Path) -> list[Path]:
    """Return the files of the nearest datasets folder, without its scripts."""
    for folder in (root.parent / "datasets", root / "datasets"):
        if folder.is_dir():
            return sorted(
                path for path in folder.iterdir() if path.is_file() and path.suffix in CARRIED
            )
    raise FileNotFoundError(
        f"no datasets folder beside or inside {root}: build from a whole checkout"
    )


class DatasetsHook(BuildHookInterface[Any]):
    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "editable":
            return
        folder = "lengthwise/_datasets" if self.target_name == "wheel" else "datasets"
        for path in tables(Path(self.root)):
            build_data["force_include"][str(path)] = f"{folder}/{path.name}"
