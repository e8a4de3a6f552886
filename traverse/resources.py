"""Finds the folders `grammar/` and `templates/`, in an installed package or in the repository."""

from __future__ import annotations

from pathlib import Path


def data(*parts: str) -> Path:
    """Path of a file that ships with the program: `data("grammar", "log.lark")`.

    A wheel carries the two folders inside the package; a checkout and an editable install have them beside it.
    """
    package = Path(__file__).resolve().parent
    packaged = package / parts[0]
    root = packaged if packaged.is_dir() else package.parent / parts[0]
    return root.joinpath(*parts[1:])
