"""What a sheet says of the names of the files that it carries, so that a damaged one is told from a whole one."""

from __future__ import annotations

import hashlib
import re


def name_checksum(name: str) -> str:
    """A checksum of a name, in letters; the standard has one of the bytes of a file alone (ISO 32000-1, 7.11.4)."""
    return hashlib.md5(name.encode(), usedforsecurity=False).hexdigest()


NAME_SUM = re.compile(r"its name has the checksum ([0-9a-f]{32})")
"""The description of a carried file (ISO 32000-1, 7.11.3, table 44, `Desc`)."""


def described(name: str) -> str:
    """The description of a carried file with this name."""
    return f"its name has the checksum {name_checksum(name)}"
