"""How light a colour is, and where it lies in Oklab to those who see all hues and to those who don't.

A few sums by published formulas: a library that knows every space takes as long to import as a log to compile. The tests
hold each of them to coloraide.
"""

from __future__ import annotations

from functools import lru_cache

_Row = tuple[float, float, float]
_Matrix = tuple[_Row, _Row, _Row]

_LUMINANCE: _Row = (0.2126390058715103, 0.715168678767756, 0.07219231536073371)
"""Y of linear red, green and blue of IEC 61966-2-1, white point D65."""
_EPSILON, _KAPPA = 216.0 / 24389.0, 24389.0 / 27.0
"""Where the cube root of CIE 1976 L* gives way to a line, and its slope (CIE 15)."""
_TO_CONES: _Matrix = (
    (0.4122214708, 0.5363325363, 0.0514459929),
    (0.2119034982, 0.6806995451, 0.1073969566),
    (0.0883024619, 0.2817188376, 0.6299787005),
)
_TO_OKLAB: _Matrix = (
    (0.2104542553, 0.7936177850, -0.0040720468),
    (1.9779984951, -2.4285922050, 0.4505937099),
    (0.0259040371, 0.7827717662, -0.8086757660),
)
"""Of linear sRGB, and of the cube roots of what that gives: Ottosson, "A perceptual color space for image processing" (2020)."""
_SEEN: dict[str, tuple[_Matrix, ...]] = {
    "protan": (((0.112382, 0.887618, 0.0), (0.112382, 0.887618, 0.0), (0.004006, -0.004006, 1.0)),),
    "deutan": (((0.292750, 0.707250, 0.0), (0.292750, 0.707250, 0.0), (-0.022337, 0.022337, 1.0)),),
    "tritan": (
        (
            (0.93678393, 0.18978794, -0.12657187),
            (0.06153393, 0.81526221, 0.12320386),
            (-0.37560798, 1.12765412, 0.24795386),
        ),
        (
            (1.01277334, 0.13548411, -0.14825745),
            (-0.01243345, 0.86812105, 0.14431241),
            (0.07589479, 0.80499960, 0.11910561),
        ),
    ),
}
"""Linear sRGB as eyes without one kind of cone see it: red and green by Viénot, Brettel and Mollon (1999), blue by Brettel,
Viénot and Mollon (1997), whose two half planes meet along the greys; as coloraide 8 has them, to six and eight places."""
_PARTED: _Row = (0.03901461, -0.02788076, -0.01113385)
"""Above 0 the second half plane."""


@lru_cache(maxsize=4096)
def lightness(colour: str) -> float:
    """Lightness L* of a colour `#rrggbb`, 0 to 100 (CIE 1976, white point D65).

    >>> round(lightness("#ffffff"), 6), round(lightness("#777777"), 1)
    (100.0, 50.0)
    """
    y = _dot(_LUMINANCE, _linear(colour))
    return float(116.0 * y ** (1.0 / 3.0) - 16.0 if y > _EPSILON else _KAPPA * y)


def oklab(colour: str, eyes: str | None = None) -> _Row:
    """A colour `#rrggbb` in Oklab as all see it, or as `protan`, `deutan` or `tritan` eyes do."""
    seen = _linear(colour)
    if eyes is not None:
        planes = _SEEN[eyes]
        seen = _times(planes[-1] if _dot(_PARTED, seen) > 0.0 else planes[0], seen)
    red, green, blue = (_cube_root(one) for one in _times(_TO_CONES, seen))
    return _times(_TO_OKLAB, (red, green, blue))


def _linear(colour: str) -> _Row:
    red, green, blue = (_linear_part(int(colour[at : at + 2], 16)) for at in (1, 3, 5))
    return red, green, blue


@lru_cache(maxsize=256)
def _linear_part(byte: int) -> float:
    """Of IEC 61966-2-1."""
    part = byte / 255.0
    return float(part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4)


def _cube_root(one: float) -> float:
    return float(abs(one) ** (1.0 / 3.0) * (-1.0 if one < 0.0 else 1.0))


def _dot(row: _Row, other: _Row) -> float:
    return row[0] * other[0] + row[1] * other[1] + row[2] * other[2]


def _times(matrix: _Matrix, of: _Row) -> _Row:
    return _dot(matrix[0], of), _dot(matrix[1], of), _dot(matrix[2], of)
