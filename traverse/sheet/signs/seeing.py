"""How colours are seen: their lightness, and what is left of their differences to eyes without one kind of cone.

A library of colours does all of it, and its import alone takes a tenth of the time of a small sheet;
`tests/sheet/signs/test_seeing.py` holds these figures against one.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

_Floats = NDArray[np.float64]

_TO_XYZ = np.array(
    [
        [0.4123907992659593, 0.357584339383878, 0.1804807884018343],
        [0.21263900587151024, 0.715168678767756, 0.07219231536073371],
        [0.01933081871559182, 0.11919477979462598, 0.9505321522496607],
    ]
)
"""Of linear light; primaries and white of IEC 61966-2-1, white D65."""
_LUMINANCE = tuple(float(one) for one in _TO_XYZ[1])
_TO_OK_CONES = (
    np.array(
        [
            [0.819022437996703, 0.3619062600528904, -0.1288737815209879],
            [0.03298365393238847, 0.9292868615863434, 0.03614466635064236],
            [0.04817718935962421, 0.2642395317527308, 0.6335478284694309],
        ]
    )
    @ _TO_XYZ
)
_TO_OKLAB = np.array(
    [
        [0.21045426830931396, 0.7936177747023053, -0.0040720430116192585],
        [1.9779985324311686, -2.42859224204858, 0.450593709617411],
        [0.025904042465547734, 0.7827717124575297, -0.8086757549230774],
    ]
)
"""Both of B. Ottosson, "A perceptual color space for image processing", 2020, for white D65 in full digits."""
_TO_CONES = np.array(
    [
        [0.178824041258, 0.4351609057000001, 0.04119349692],
        [0.034556423182, 0.27155382458, 0.03867130836],
        [0.000299565576, 0.0018430896, 0.01467086136],
    ]
)
"""Of F. Viénot, H. Brettel and J. D. Mollon, "Digital video colourmaps for checking the legibility of displays by
dichromats", Color Research and Application 24, 1999, 243-252."""

_FROM_CONES = np.array(
    [
        [8.094435598032373, -13.050431460496931, 11.672058453917328],
        [-1.024850558664669, 5.401931309674975, -11.361471490598715],
        [-0.036529747159333145, -0.412162807001268, 69.35132423820858],
    ]
)


class Eyes(Enum):
    """Who looks."""

    ALL = "all"
    RED_BLIND = "red-blind"
    GREEN_BLIND = "green-blind"
    BLUE_BLIND = "blue-blind"


def _linear(colour: str) -> list[float]:
    """Shares of light of `#rrggbb`, red, green and blue, 0 to 1 (IEC 61966-2-1)."""
    parts = (int(colour[at : at + 2], 16) / 255.0 for at in (1, 3, 5))
    return [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]


@lru_cache(maxsize=4096)
def lightness(colour: str) -> float:
    """Lightness L* of a colour `#rrggbb`, 0 to 100 (CIE 1976, white point D65)."""
    share = sum(part * light for part, light in zip(_LUMINANCE, _linear(colour), strict=True))
    root = share ** (1.0 / 3.0) if share > 216.0 / 24389.0 else (24389.0 / 27.0 * share + 16.0) / 116.0
    return 116.0 * root - 16.0


def seen_apart(colours: Sequence[str], eyes: Eyes) -> _Floats:
    """Distances in Oklab between colours `#rrggbb` as these eyes see them, each from each; shape (n, n).

    For red and green after Viénot, Brettel and Mollon 1999; for blue after H. Brettel, F. Viénot and J. D. Mollon,
    "Computerized simulation of color appearance for dichromats", Journal of the Optical Society of America A 14, 1997.
    """
    light = np.array([_linear(one) for one in colours]).reshape(-1, 3).T
    if eyes is not Eyes.ALL:
        light = _FROM_CONES @ _without(_TO_CONES @ light, eyes)
    place = (_TO_OKLAB @ np.cbrt(_TO_OK_CONES @ light)).T
    return np.asarray(np.sqrt(((place[:, None, :] - place[None, :, :]) ** 2).sum(axis=2)))


def _without(cones: _Floats, eyes: Eyes) -> _Floats:
    """Answers of the three cones, where that of the missing one follows from the other two."""
    long, middle, short = cones
    if eyes is Eyes.RED_BLIND:
        long = 2.023443771048 * middle - 2.525804054038 * short
    elif eyes is Eyes.GREEN_BLIND:
        middle = 0.49420696256 * long + 1.248269949567 * short
    else:
        # Two half planes, on either side of what white light gives.
        beyond = 0.344781556122 * long > 0.655178443878 * middle
        short = np.where(
            beyond,
            -0.002573851092 * long + 0.053656722528 * middle,
            -0.060107569254 * long + 0.162986387256 * middle,
        )
    return np.array([long, middle, short])
