"""A page that says the same of ground that was turned, or laid in the mirror, and the same page in a grid of another north.

Only the text is changed: azimuths and strikes as typed, points of the compass, known points. Words and all other figures stay.
"""

import math
import re

EPSG, START = 3978, (2_796_564.8, 933_883.2)
"""54° W 49° N, on a parallel where Lambert's cone is true to scale, 41° from its meridian; its north is 37° off."""
POINTS = ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"]
AZIMUTH = r"(?:\d{3}(?:\.\d+)?|[NS]\d+(?:\.\d+)?[EW])"
LEFT_AS_IT_IS = {
    "along", "checked", "control", "covered", "declination", "notation", "note", "pace", "precision", "rock", "tops",
    "traverse", "unit", "weather",
}  # fmt: skip
"""First words of lines that say nothing of a direction, though figures may stand in them."""


def _read(typed):
    if typed[0] not in "NS":
        return float(typed)
    from_north = float(typed[1:-1]) if typed[0] == "N" else 180.0 - float(typed[1:-1])
    return from_north if typed[-1] == "E" else -from_north


def _typed(azimuth, like):
    """An azimuth in the way of writing of another, with as many decimal places."""
    azimuth %= 360.0
    if like[0] in "NS":
        pole, from_pole = ("N", min(azimuth, 360.0 - azimuth)) if math.cos(math.radians(azimuth)) > 0.0 else (
            "S", abs(180.0 - azimuth),
        )  # fmt: skip
        return f"{pole}{from_pole:g}{'E' if azimuth < 180.0 else 'W'}"
    return f"{azimuth:0{len(like)}.{max(0, len(like) - 4)}f}"


def otherwise(text, change):
    """The page with `change` made to each direction; a strike is changed by its dip direction, whatever the rule."""
    by_strike = not re.search(r"(?m)^attitudes\s+dip-(?:direction|first)", text)
    quarter = -90.0 if re.search(r"(?m)^attitudes\s+dip-left", text) else 90.0

    def azimuth(typed):
        return _typed(change(_read(typed)), typed)

    def point(letters, of=16):
        turned = change(22.5 * POINTS.index(letters)) % 360.0
        return POINTS[round(turned * of / 360.0) % of * 16 // of]

    def plane(found):
        strike, dip, letters = found.groups()
        if letters or strike[0] in "NS" or not by_strike:
            return azimuth(strike) + dip + (point(letters, of=8) if letters else "")
        return _typed(change(_read(strike) + quarter) - quarter, strike) + dip

    def toward(found):
        words, way = found.groups()
        return words + (azimuth(way) if re.fullmatch(AZIMUTH, way) else point(way))

    def line(found):
        text = found[0]
        word = text.split(maxsplit=1)[0]
        if word in {"to", "close", "side"}:
            text = re.sub(rf"^(\s*{word}\s+\S+\s+)({AZIMUTH})\b", toward, text)
            return re.sub(rf"(\bback\s+)({AZIMUTH})\b", toward, text)
        if word == "sight":
            return re.sub(rf"^(\s*sight\s+\S+\s+)({AZIMUTH})\b", toward, text)
        if word == "section":
            return re.sub(rf"^(section\s+\S+\s+)({AZIMUTH})(?=\s+through)", toward, text)
        if word in LEFT_AS_IT_IS:
            return text
        text = re.sub(
            rf"({AZIMUTH})(\s*/\s*(?:\d+(?:\.\d+)?|vertical))([NSEW]{{1,2}})?(?![\w/])", plane, text
        )
        return re.sub(rf"((?:->|\bdown)\s*)({AZIMUTH}|[NSEW]{{1,3}}\b)", toward, text)

    return re.sub(r"(?m)^.*\S.*$", line, text)


def in_no_grid(text):
    """The page with its start at 0 E 0 N, and as many lines as `in_grid` gives it."""
    return _at_start(text, "weather dry", (0.0, 0.0), 0.0)


def in_grid(text, turn_deg=0.0, *, convergence_deg):
    """The page in a grid; known points, which it has as metres east and north of its start, are turned with it."""
    return _at_start(text, f"grid EPSG:{EPSG}", START, turn_deg - convergence_deg)


def _at_start(text, line, start, turn_deg):
    turn = math.radians(turn_deg)

    def control(found):
        east, north = float(found[2]), float(found[3])
        return (
            f"{found[1]}{start[0] + east * math.cos(turn) + north * math.sin(turn):.3f} E "
            f"{start[1] + north * math.cos(turn) - east * math.sin(turn):.3f} N"
        )

    head = f"{line}\ncontrol {re.search(r'(?m)^at +(.+)$', text)[1]} 0 E 0 N 0 m\n"
    text = re.sub(r"(?m)^(?=unit|at )", lambda _: head, text, count=1)
    return re.sub(r"(?m)^(control \S+ )(-?[\d.]+) E (-?[\d.]+) N", control, text)
