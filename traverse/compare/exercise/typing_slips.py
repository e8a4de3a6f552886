"""Single slips of the kinds that tired fingers make, each in one line; `check` refuses them all."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

Wrong = Callable[[str, random.Random], str | None]
"""A line with the slip in it; None where it can't be made there."""


def _first_word(turn: Callable[[str, int], str]) -> Wrong:
    def wrong(line: str, chance: random.Random) -> str | None:
        word = re.match(r"\s*([a-z]{2,})(?= )", line)
        if word is None:
            return None
        at = chance.randrange(len(word[1]) - 1)
        typed = turn(word[1], at)
        return None if typed == word[1] else line[: word.start(1)] + typed + line[word.end(1) :]

    return wrong


def _sub(pattern: str, put: str | Callable[[re.Match[str]], str], *, only: str = "") -> Wrong:
    """The first match replaced, in a line that begins with one of the words."""

    def wrong(line: str, _: random.Random) -> str | None:
        if only and line.split(maxsplit=1)[:1] not in [[word] for word in only.split()]:
            return None
        typed, count = re.subn(pattern, put, line, count=1)
        return typed if count and typed != line else None

    return wrong


LEGS = "to close side"
PLANES = "bed crossbed joint"
KINDS: dict[str, Wrong] = {
    "letters of a keyword swapped": _first_word(lambda word, at: word[:at] + word[at + 1] + word[at] + word[at + 2 :]),
    "letter of a keyword lost": _first_word(lambda word, at: word[:at] + word[at + 1 :] if len(word) > 3 else word),
    "letter of a keyword doubled": _first_word(lambda word, at: word[: at + 1] + word[at:]),
    "keyword with a colon": _first_word(lambda word, _: f"{word}:"),
    "unit of a distance lost": _sub(r" (\d+)[pm]\b", r" \1", only=LEGS),
    "unit of a distance in wrong letters": _sub(r" (\d+)[pm]\b", r" \1q", only=LEGS),
    "blank lost": _sub(r" (\d{3}) (\d+[pm])", r" \1\2", only=LEGS),
    "N95E": _sub(r"(?<=\S )\s*(?:\d{3}|[NS]\d+[EW])(?= \d)", " N95E", only=LEGS),
    "figure of an azimuth lost": _sub(r" (\d)\d(\d) (?=\d+[pm])", r" \1\2 ", only=LEGS),
    "azimuth out of range": _sub(r" \d(\d\d) (?=\d+[pm])", r" 4\1 ", only=LEGS),
    "sign of a slope lost": _sub(r" [+-](\d+)(?= |$)", r" \1", only=LEGS),
    "slope too large": _sub(r" ([+-]\d+)(?= |$)", r" \g<1>95", only=LEGS),
    "comma between readings": _sub(r" (\d{3}) (\d+[pm])", r" \1, \2", only=LEGS),
    "decimal comma": _sub(r" (\d+)([pm])\b", r" \1,5\2", only=LEGS),
    "bearing lost": _sub(r" +\d{3} (\d+[pm])", r" \1", only=LEGS),
    "distance lost": _sub(r" \d+[pm]\b", "", only=LEGS),
    "name of a station lost": _sub(r"^(to|close|side) \S+", r"\1", only=LEGS),
    "back misspelt": _sub(r"\bback\b", "bakc", only=LEGS),
    "back bearing lost": _sub(r"\bback \S+$", "back", only=LEGS),
    "back bearing out of range": _sub(r"\bback \d(\d\d)$", r"back 5\1", only=LEGS),
    "station repeated": _sub(r"^to (\d+)", lambda m: f"to {int(m[1]) - 1}", only="to"),
    "close of a station that is none": _sub(r"^close (\S+)", r"close 5\1", only="close"),
    "at of a station that is none": _sub(r"^at (\d+)$", lambda m: f"at {int(m[1]) + 40}", only="at"),
    "dip over 90": _sub(r"/(\d)\d", r"/1\g<1>5", only=PLANES),
    "slash of an attitude turned": _sub(r"(\d{3})/(\d\d)", r"\1\\\2", only=PLANES),
    "dip lost": _sub(r"(\d{3})/\d\d", r"\1", only=PLANES),
    "figure of a strike lost": _sub(r"(\d)\d(\d)/(\d\d)", r"\1\2/\3", only=PLANES),
    "modifier misspelt": _sub(r"overturned", "overtunred", only=PLANES),
    "letters of a unit wrong": _sub(r"^(\s*unit +)[A-Z][a-z](?=$| *#)", r"\1Zx", only="unit"),
    "letters of a contact wrong": _sub(r"[A-Z][a-z]/", "Zx/", only="contact fault"),
    "slash of a contact lost": _sub(r"([A-Z][a-z])/([A-Z])", r"\1 \2", only="contact fault"),
    "certainty misspelt": _sub(r"(certain|inferred|approximate|concealed)", lambda m: m[1][:2] + m[1][3] + m[1][2] + m[1][4:], only="contact fault"),
    "certainty lost": _sub(r" (certain|inferred|approximate|concealed)", "", only="contact"),
    "plus-minus without a unit": _sub(r"±(\d+) ?m", r"±\1", only="contact fault"),
    "place far past its leg": _sub(r"^along (\d+)p", r"along \g<1>55p", only="along"),
    "stretch backward": _sub(r"^covered (\d+)p to (\d+)p", r"covered \2p to \1p", only="covered along"),
    "unit of a place on a leg lost": _sub(r"^along (\d+)p", r"along \1", only="along"),
    "month of 13": _sub(r"-(\d\d)-(\d\d)$", r"-13-\2", only="date"),
    "day before year": _sub(r"(\d{4})-(\d\d)-(\d\d)", r"\3/\2/\1", only="date"),
    "time of 25": _sub(r"\d\d:(\d\d)", r"25:\1", only="time"),
    "letters of the grid swapped": _sub("EPSG", "ESPG", only="grid"),
    "side of the declination lost": _sub(r"(\d) [EW],", r"\1,", only="declination"),
    "year of the declination lost": _sub(r", \d{4},", ",", only="declination"),
    "comma of the declination lost": _sub(r"([EW]), (\d{4})", r"\1 \2", only="declination"),
    "which north misspelt": _sub(r"magnetic", "magentic", only="bearings"),
    "how attitudes are written misspelt": _sub(r"dip-", "dpi-", only="attitudes"),
    "unit of a pace lost": _sub(r"100 m in", "100 in", only="pace"),
    "comma of a count lost": _sub(r", (\d+)$", r" \1", only="pace"),
    "blank after a comma lost": _sub(r", (\d+), (\d+)$", r", \1,\2", only="pace"),
    "letter of a control lost": _sub(r"(\d) E (\d+) N", r"\1 \2 N", only="control"),
    "east and north of a control exchanged": _sub(r"(\d+) E (\d+) N", r"\2 N \1 E", only="control"),
    "blank in a figure of a control": _sub(r"(\d{3})(\d{3}) E", r"\1 \2 E", only="control"),
    "plus-minus after the source": _sub(r"(±\d+ m) (\w+)$", r"\2 \1", only="control elevation"),
    "per cent lost": _sub(r"%", "", only="precision"),
    "item of a precision misspelt": _sub(r"bearing", "baering", only="precision"),
    "unit of a height lost": _sub(r"(\d) m\b", r"\1", only="elevation"),
    "initials small": _sub(r"^(\S+ +)([A-Z]{2})", lambda m: m[1] + m[2].lower(), only="party pacer reader"),
    "semicolon of a unit lost": _sub(r" ;.*$", "", only="unit"),
    "colour of a unit short": _sub(r"(#\w{5})\w", r"\1", only="unit"),
    "scale without 1": _sub(r"1:(\d+)", r"\1", only="sheet"),
    "option of the sheet misspelt": _sub(r"landscape", "lanscape", only="sheet"),
    "end of a section lost": _sub(r" to \S+(,.*)?$", "", only="section"),
    "word people try": _sub(r"^(\s*)bed\b", r"\1dip", only="bed"),
    "two lines in one": _sub(r"$", " bed 272/73", only="unit"),
}  # fmt: skip
