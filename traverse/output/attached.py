"""What a sheet says of the files that it carries, so that a damaged one is told from a whole one."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence

from traverse.record import record


def name_checksum(name: str) -> str:
    """A checksum of a name, in letters; the standard has one of the bytes of a file alone (ISO 32000-1, 7.11.4)."""
    return hashlib.md5(name.encode(), usedforsecurity=False).hexdigest()


@record(frozen=True, slots=True, kw_only=True)
class CarriedFile:
    """What the description of a carried file says (ISO 32000-1, 7.11.3, table 44, `Desc`)."""

    number: int
    count: int
    whole: str
    """Checksum of name and bytes, which ties the one to the other."""
    together: str
    """Checksum of all that the sheet carries, so that none of it is missed."""

    def words(self) -> str:
        """As it stands in the sheet."""
        return (
            f"file {self.number} of {self.count}; its name and bytes have the checksum {self.whole}; "
            f"all together have {self.together}"
        )


_WORDS = re.compile(
    r"file (\d{1,6}) of (\d{1,6}); its name and bytes have the checksum ([0-9a-f]{32}); all together have ([0-9a-f]{32})"
)
NAME_SUM = re.compile(r"its name has the checksum ([0-9a-f]{32})")
"""The description in older sheets, whose names and bytes have a checksum each."""


def described(files: Sequence[tuple[str, bytes]]) -> list[CarriedFile]:
    """What is said of each of the files, by name, that a sheet carries."""
    each = [
        hashlib.md5(f"{name}\0".encode() + data, usedforsecurity=False).hexdigest() for name, data in files
    ]
    together = name_checksum(" ".join(sorted(each)))
    return [
        CarriedFile(number=number, count=len(files), whole=whole, together=together)
        for number, whole in enumerate(each, start=1)
    ]


def read_description(words: str) -> CarriedFile | None:
    """What a description says; None of one that is none of ours, or damaged."""
    found = _WORDS.fullmatch(words)
    if found is None:
        return None
    return CarriedFile(number=int(found[1]), count=int(found[2]), whole=found[3], together=found[4])
