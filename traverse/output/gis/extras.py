"""Libraries that not every installation has, and how to get them."""

from __future__ import annotations

import importlib
from importlib.util import find_spec
from typing import Any


class MissingExtraError(Exception):
    """A format needs a library that is not installed; its text is for the user."""


class UnfitError(Exception):
    """A format can't hold what it was given; its text is for the user."""


def library(module: str, *, extra: str, what: str) -> Any:
    """The module of a library. Raises `MissingExtraError` where it is not installed.

    >>> library("no_such_library", extra="gis", what="GeoPackage")
    Traceback (most recent call last):
    ...
    traverse.output.gis.extras.MissingExtraError: GeoPackage needs a library that is not installed; `pip install 'traverse-notebook[gis]'`
    """
    try:
        return importlib.import_module(module)
    except ImportError as missing:
        raise MissingExtraError(_words(extra, what)) from missing


def lacks(module: str, *, extra: str, what: str) -> str | None:
    """The words of `MissingExtraError` where a library is not installed, found without importing it; else None."""
    return None if find_spec(module) is not None else _words(extra, what)


def _words(extra: str, what: str) -> str:
    return f"{what} needs a library that is not installed; `pip install 'traverse-notebook[{extra}]'`"
