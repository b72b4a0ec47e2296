"""Where the course's own page template lies, for Jupyter to find.

The template overrides a standard one so that a page of the course loads nothing from outside,
shows no code, and reads well on a phone. It lies inside the package, so that it is found in the
same way in a checkout and in an installed wheel: put `data_folder()` into ``JUPYTER_PATH`` and
ask for the template by its name.
"""

from __future__ import annotations

from pathlib import Path

TEMPLATE_NAME = "lengthwise"


def data_folder() -> Path:
    """Give the folder that belongs into the environment variable ``JUPYTER_PATH``.

    Examples
    --------
    >>> (data_folder() / "voila" / "templates" / TEMPLATE_NAME / "index.html.j2").is_file()
    True
    """
    return Path(__file__).with_name("pages")
