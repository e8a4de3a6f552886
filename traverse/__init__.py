"""Compiles a geologist's field traverse, typed as it stands in the notebook, into a map sheet and tables.

From Python, `traverse.read` gives a day to look at and to draw; `grammar/python.md` shows how. What stands in `__all__`
is kept from version to version; everything else of the package is its own affair and may change.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from traverse.version import __version__

if TYPE_CHECKING:
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

__all__ = [
    "Drawing",
    "FieldDay",
    "LogError",
    "Message",
    "Records",
    "WrongUseError",
    "__version__",
    "read",
    "read_text",
]


def __getattr__(name: str) -> Any:
    """What reads logs is imported when it is first asked for: a command that needs none of it begins at once."""
    if name in __all__:
        return getattr(import_module("traverse.field_day"), name)
    raise AttributeError(f"module 'traverse' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
