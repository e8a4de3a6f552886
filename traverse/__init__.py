"""Compiles a geologist's field traverse, typed as it stands in the notebook, into a map sheet and tables.

From Python, `traverse.read` gives a day to look at and to draw; `grammar/python.md` shows how. What stands in `__all__`
is kept from version to version; everything else of the package is its own affair and may change.
"""

from __future__ import annotations

from importlib import import_module

from traverse.version import __version__

TYPE_CHECKING = False
"""As in `typing`, which takes longer to import than all of this."""
if TYPE_CHECKING:
    from typing import Any

    from traverse.field_day import (
        Drawing,
        FieldDay,
        LogError,
        Message,
        Records,
        WrongUseError,
        read,
        read_text,
    )
    from traverse.season.index_season import Season, index_season

__all__ = [
    "Drawing",
    "FieldDay",
    "LogError",
    "Message",
    "Records",
    "Season",
    "WrongUseError",
    "__version__",
    "index_season",
    "read",
    "read_text",
]
_OF_SEASONS = frozenset({"Season", "index_season"})


def __getattr__(name: str) -> Any:
    """What reads logs is imported when it is first asked for: a command that needs none of it begins at once."""
    if name in __all__:
        where = "traverse.season.index_season" if name in _OF_SEASONS else "traverse.field_day"
        return getattr(import_module(where), name)
    raise AttributeError(f"module 'traverse' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
