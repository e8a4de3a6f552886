"""The type of an SVG: which family each face is named by, and the letters that are drawn, carried in the file.

A browser sets text in the carried letters, whatever fonts it has; a drawing program takes the family by its name.
"""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Iterable

from traverse.sheet.paper.fonts import family, family_words, font_file, runs
from traverse.sheet.paper.page import Face, Text

_LAST = "sans-serif"
_STYLES = {
    Face.REGULAR: "font-weight:400",
    Face.SEMIBOLD: "font-weight:600",
    Face.BOLD: "font-weight:700",
    Face.ITALIC: "font-weight:400;font-style:italic",
}


_NEEDED = frozenset(
    {"GlyphOrder", "OS/2", "cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "name", "post"}
)
"""Tables that a letter is drawn with."""


def families(face: Face) -> str:
    """What a text of a face names: its family, the one that stands in for what it lacks, and any without serifs.

    >>> families(Face.BOLD)
    "'Source Sans Pro', 'DejaVu Sans', sans-serif"
    """
    return ", ".join([*(f"'{_bare(one)}'" for one in family_words(face)), _LAST])


def rules(texts: Iterable[Text]) -> str:
    """Style rules that carry the letters of these texts, one for each font that draws some of them."""
    letters: dict[tuple[str, Face], set[str]] = {}
    for text in texts:
        for name, piece in runs(text.text, text.face):
            letters.setdefault((name, text.face), set()).update(piece)
    found: list[str] = []
    for (name, face), chars in sorted(letters.items(), key=lambda one: (one[0][0], one[0][1].value)):
        own, other = family_words(face)
        words = _bare(own if name == family(face) else other)
        data = base64.b64encode(_subset(name, chars)).decode("ascii")
        found.append(
            f"@font-face{{font-family:'{words}';{_STYLES[face]};src:url(data:font/ttf;base64,{data})}}"
        )
    return "\n".join(found)


def _bare(words: str) -> str:
    """A family's name without what could end a string of a style sheet."""
    return re.sub(r"[^\w .-]", "", words)


def _subset(name: str, chars: Iterable[str]) -> bytes:
    """The font with these letters alone, without hints and without pairs that move letters: as the PDF sets them."""
    from fontTools import subset

    options = subset.Options(hinting=False, name_IDs=[1, 2], notdef_outline=True, recalc_timestamp=False)
    chosen = subset.Subsetter(options)
    chosen.populate(unicodes=sorted(map(ord, chars)))
    file = io.BytesIO()
    with subset.load_font(str(font_file(name)), options) as font:
        options.drop_tables = sorted(set(font.keys()) - _NEEDED)
        chosen.subset(font)
        subset.save_font(font, file, options)
    return file.getvalue()
