"""The sheet's family of type, how wide text is in it, and which characters it lacks."""

from __future__ import annotations

import hashlib
import unicodedata
from functools import lru_cache
from importlib.util import find_spec
from itertools import groupby, repeat
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from traverse.sheet.paper.look import FontFile, look_in_force
from traverse.sheet.paper.page import Face
from traverse.sheet.paper.style import MM_PER_POINT

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

_FAMILY = {
    Face.REGULAR: FontFile("SourceSansPro-Regular"),
    Face.SEMIBOLD: FontFile("SourceSansPro-Semibold"),
    Face.BOLD: FontFile("SourceSansPro-Bold"),
    Face.ITALIC: FontFile("SourceSansPro-It"),
}
_FAMILY_WORDS = ("Source Sans Pro", "DejaVu Sans")
_FALLBACK = {
    Face.REGULAR: "DejaVuSans",
    Face.SEMIBOLD: "DejaVuSans-Bold",
    Face.BOLD: "DejaVuSans-Bold",
    Face.ITALIC: "DejaVuSans-Oblique",
}
_INVISIBLE = frozenset({"Cc", "Cf", "Cs"})
"""Categories that are dropped: controls, formats (among them those that turn the direction of text), surrogates."""
_BLANKS = frozenset("\t\n\r\v\f\x85\u2028\u2029")
_EMPTY = "□"
_MIRRORED = str.maketrans("()[]{}<>", ")(][}{><")
CAP_HEIGHT = 0.66
"""Height of capitals and figures over the size of type, in Source Sans Pro."""


_LOADED: dict[str, TTFont] = {}
"""Every font that was read; a name means one content for ever, so none is put away again."""
_LOADING = Lock()


def font(name: str, path: str | None = None) -> TTFont:
    """The font of that name, read once and known to reportlab from then on; `path` where it does not ship."""
    with _LOADING:
        found = _LOADED.get(name)
        if found is None:
            from reportlab.pdfbase import pdfmetrics
            from reportlab.pdfbase.ttfonts import TTFont

            found = _LOADED[name] = TTFont(name, path or str(_shipped_file(name)))
            pdfmetrics.registerFont(found)
    return found


def font_file(name: str) -> Path:
    """Where the font of that name lies."""
    return Path(font(name).face.filename)


def _shipped_file(name: str) -> Path:
    package, parts = (
        ("font_source_sans_pro", ("files",))
        if name.startswith("SourceSansPro")
        # matplotlib carries DejaVu; to find the folder does not import it.
        else ("matplotlib", ("mpl-data", "fonts", "ttf"))
    )
    spec = find_spec(package)
    assert spec is not None
    assert spec.submodule_search_locations is not None
    return Path(spec.submodule_search_locations[0], *parts, f"{name}.ttf")


def own_font(face: Face, path: Path) -> FontFile:
    """A file of a template's own for a face; the name tells its content, so that two files of one name are two fonts."""
    content = hashlib.sha256(path.read_bytes()).hexdigest()[:12]
    return FontFile(f"Own-{face.value}-{path.stem}-{content}", str(path))


def _file(face: Face) -> FontFile:
    """The font that a face is set in: of the look in force, or of the sheet's own family."""
    return look_in_force().fonts.get(face) or _FAMILY[face]


def family_words(face: Face) -> tuple[str, str]:
    """What people call the family of a face, and the one that stands in for what it lacks."""
    own, other = _FAMILY_WORDS
    file = _file(face)
    if file.path is None:
        return own, other
    said = font(*file).face.familyName
    return (said.decode("ascii", "ignore") if isinstance(said, bytes) else str(said)) or file.name, other


def unfit(path: Path) -> str:
    """Why a file can't be set as type; empty where it can."""
    from reportlab.pdfbase.ttfonts import TTFError, TTFontFile

    try:
        TTFontFile(str(path))
    except (TTFError, OSError, ValueError, KeyError, IndexError) as problem:
        return f"is no TrueType font: {problem}".splitlines()[0][:80]
    return ""


def family(face: Face) -> str:
    """Name of the family's font for a face, ready for use."""
    file = _file(face)
    font(*file)
    return file.name


def visible(text: str) -> str:
    r"""Text with its accents composed, line ends and tabs as blanks, and without what has no form on paper.

    >>> visible("a\tb\u202ec\x00")
    'a bc'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        " " if char in _BLANKS else char
        for char in unicodedata.normalize("NFC", text)
        if char in _BLANKS or unicodedata.category(char) not in _INVISIBLE
    )


def runs(text: str, face: Face) -> tuple[tuple[str, str], ...]:
    """The text as pieces with the font that draws each, from left to right as on paper.

    An empty square, which the fallback has, stands for a character that neither font has: the sign of a font for what
    it lacks is not allowed in a file that is to be kept (ISO 19005-2, 6.2.11.8).

    >>> runs("Tv → α", Face.BOLD)
    (('SourceSansPro-Bold', 'Tv → α'),)
    """
    return _runs(text, _file(face), _FALLBACK[face])


@lru_cache(maxsize=16384)
def _runs(text: str, file: FontFile, other: str) -> tuple[tuple[str, str], ...]:
    own = file.name
    glyphs = font(*file).face.charToGlyph
    text = _left_to_right(visible(text))
    if glyphs.keys() >= set(map(ord, text)):
        return ((own, text),) if text else ()
    # Read only where a sheet needs it: it has ten times the glyphs of the family.
    spare = font(other).face.charToGlyph
    text = "".join(char if ord(char) in glyphs or ord(char) in spare else _EMPTY for char in text)
    pieces = tuple(
        (own if inside else other, "".join(chars))
        for inside, chars in groupby(text, key=lambda char: ord(char) in glyphs)
    )
    for name, _ in pieces:
        font(name)
    return pieces


def width_mm(text: str, face: Face, size_pt: float) -> float:
    """Width of one line of text in millimetres.

    >>> round(width_mm("1000", Face.REGULAR, 72.0) / 25.4, 3)  # figures are all 0.497 em wide
    1.988
    """
    return _width_mm(text, _file(face), _FALLBACK[face], size_pt)


@lru_cache(maxsize=16384)
def _width_mm(text: str, file: FontFile, other: str, size_pt: float) -> float:
    total = 0.0
    for name, piece in _runs(text, file, other):
        face = font(name).face
        total += sum(map(face.charWidths.get, map(ord, piece), repeat(face.defaultWidth)))
    return total * size_pt * MM_PER_POINT / 1000.0


def missing(text: str) -> tuple[str, ...]:
    """Characters that neither font has, each once, in their order in the text."""
    shown = visible(text)
    own = font(*_file(Face.REGULAR)).face.charToGlyph
    rest = dict.fromkeys(char for char in shown if ord(char) not in own)
    if not rest:
        return ()
    other = font(_FALLBACK[Face.REGULAR]).face.charToGlyph
    return tuple(char for char in rest if ord(char) not in other)


def _left_to_right(text: str) -> str:
    """Text as it stands on paper: words of right-to-left scripts run the other way, figures in them do not.

    A simple reading of the rules of direction: a stretch from the first to the last right-to-left letter with no
    left-to-right letter between is turned round. Letters are not joined.
    """
    if text.isascii():
        return text
    kinds = [unicodedata.bidirectional(char) for char in text]
    if "R" not in kinds and "AL" not in kinds:
        return text
    out: list[str] = []
    index = 0
    while index < len(text):
        if kinds[index] not in {"R", "AL"}:
            out.append(text[index])
            index += 1
            continue
        last = end = index
        while end < len(text) and kinds[end] != "L":
            if kinds[end] in {"R", "AL"}:
                last = end
            end += 1
        stretch = text[index : last + 1]
        turned: list[str] = []
        for number, chars in groupby(stretch[::-1], key=lambda char: char.isdecimal() or char in ".,"):
            piece = "".join(chars)
            turned.append(piece[::-1] if number else piece.translate(_MIRRORED))
        out.extend(turned)
        index = last + 1
    return "".join(out)
