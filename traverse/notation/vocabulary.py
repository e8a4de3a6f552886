"""The notation in trade words: each statement's form with an example, kinds of word, and words people try."""

from __future__ import annotations

from typing import NamedTuple

from traverse.log.described import DESCRIBED


class StatementForm(NamedTuple):
    """How a statement is written."""

    form: str
    example: str


FORMS: dict[str, StatementForm] = {
    "notation": StatementForm("notation 1", "notation 1"),
    "traverse": StatementForm("traverse PLACE, DAY", "traverse Tollhouse Gorge, day 3"),
    "date": StatementForm("date YYYY-MM-DD", "date 2026-07-03"),
    "party": StatementForm("party INITIALS NAME, …", "party MO Mara Okafor, LB"),
    "area": StatementForm("area WORDS", "area upper Tollhouse valley"),
    "weather": StatementForm("weather WORDS", "weather dry, wind from the west"),
    "instrument": StatementForm("instrument WORDS", "instrument compass 2, clinometer in degrees"),
    "heights": StatementForm("heights WORDS", "heights above sea level, map sheet"),
    "page": StatementForm("page WORDS", "page 12"),
    "group": StatementForm("group LETTERS", "group B"),
    "grid": StatementForm("grid EPSG:n", "grid EPSG:25830"),
    "bearings": StatementForm("bearings true|magnetic|grid", "bearings magnetic"),
    "declination": StatementForm(
        "declination VALUE E|W, YEAR, SOURCE", "declination 8 1/2 E, 2026, map margin"
    ),
    "attitudes": StatementForm(
        "attitudes dip-right|dip-left|dip-direction|dip-first|letters", "attitudes dip-right"
    ),
    "pace": StatementForm("pace WHO double LENGTH in COUNT, …", "pace LB double 100 m in 65, 66, 66, 67"),
    "precision": StatementForm("precision ITEM VALUE, …", "precision bearing 1, slope 1, pace 2%"),
    "distances": StatementForm("distances feet|metres|paces", "distances feet"),
    "decimals": StatementForm("decimals comma", "decimals comma"),
    "use": StatementForm("use FILE", "use camp.trav"),
    "log": StatementForm("log FILE as LETTERS", "log party-a.trav as A"),
    "control": StatementForm(
        "control NAME x E y N HEIGHT ±n SOURCE", "control 1 412350 E 4289020 N 786 m ±4 gps"
    ),
    "terrain": StatementForm("terrain FILE", "terrain heights/valley.xyz"),
    "at": StatementForm("at NAME", "at 1"),
    "from": StatementForm("from NAME to NAME BEARING DISTANCE SLOPE", "from 4 to 5 N88W 99p level"),
    "to": StatementForm("to NAME BEARING DISTANCE SLOPE back BEARING", "to 2 N47E 64p +3 back 230"),
    "close": StatementForm("close NAME BEARING DISTANCE SLOPE", "close 1 S48W 176p -3"),
    "side": StatementForm("side NAME BEARING DISTANCE SLOPE", "side 3a N30W 12m -5"),
    "along": StatementForm("along DISTANCE to DISTANCE left|right DISTANCE", "along 45p right 6p"),
    "covered": StatementForm("covered DISTANCE to DISTANCE WORDS", "covered 62p to 90p scree"),
    "tie": StatementForm("tie NAME to NAME ±n m", "tie 3 to A-7"),
    "ruling": StatementForm(
        "ruling STATION STATEMENT WHO DATE REASON",
        "ruling A-7 bed 128/42 MO 2026-06-21 the other was a joint",
    ),
    "reader": StatementForm("reader WHO", "reader MO"),
    "pacer": StatementForm("pacer WHO", "pacer KT"),
    "compass": StatementForm("compass WHICH", "compass 2"),
    **{word: StatementForm(one.form, one.example) for word, one in DESCRIBED.items()},
    "trace": StatementForm("trace YOUNGER/OLDER ATTITUDE", "trace Ms/Lt 140/72"),
    "checked": StatementForm("checked WHO WHY", "checked MO read twice, no iron near"),
    "was": StatementForm("was OLD, WHO DATE, WHY", "was S84W, SR 2026-07-03, digits exchanged"),
    "omit": StatementForm("omit WHO WHY", "omit SR counted twice"),
    "adjust": StatementForm("adjust compass-rule|transit-rule|least-squares|none", "adjust least-squares"),
    "section": StatementForm(
        "section NAME from STATION to STATION, OPTION", "section A-A' from 1 to 9, exaggeration 2"
    ),
    "sheet": StatementForm("sheet OPTION …", "sheet scale 1:5000 paper A4"),
}
"""Every statement by its first word."""

_PLACE = "`at NAME`, or `to NAME BEARING DISTANCE` for a leg"
_LEG = "`from 1 to 2 BEARING DISTANCE`"
_SIDE = "`side NAME BEARING DISTANCE` for a shot, `along DISTANCE left DISTANCE` for a point beside a leg"
TRIED: dict[str, str] = {
    **dict.fromkeys(("bedding", "strike", "s0", "bdg", "dip", "attitude"), "`bed`"),
    **dict.fromkeys(("xbed", "foreset", "foresets", "xb", "xbd"), "`crossbed`"),
    **dict.fromkeys(("slickenline", "slickenlines", "striae", "slicks", "slickenside"), "`striation`"),
    **dict.fromkeys(("youngs", "way-up", "wayup", "polarity", "younging"), "`tops`"),
    **dict.fromkeys(("scree", "alluvium", "drift", "cover"), "`covered DISTANCE to DISTANCE scree`"),
    **dict.fromkeys(("end", "finish", "closes"), "`close NAME BEARING DISTANCE`"),
    **dict.fromkeys(("lithology", "description", "lith"), "`rock`"),
    **dict.fromkeys(("stop", "station", "loc", "pt", "stn", "locality", "loc."), _PLACE),
    "leg": _LEG,
    **dict.fromkeys(("gps", "fix", "benchmark", "bm"), "`control`"),
    **dict.fromkeys(("decl", "var", "variation", "dec"), "`declination`"),
    **dict.fromkeys(("names", "people", "recorder", "members"), "`party`"),
    **dict.fromkeys(("height", "el", "alt", "altitude"), "`elevation`"),
    **dict.fromkeys(("spur", "offset", "stub"), _SIDE),
    **dict.fromkeys(("s1", "foln"), "`foliation`"),
    **dict.fromkeys(("clv", "clvg"), "`cleavage`"),
    **dict.fromkeys(("jt", "jointing"), "`joint`"),
    **dict.fromkeys(("dyke",), "`dike`"),
    **dict.fromkeys(("title", "name"), "`traverse`"),
    **dict.fromkeys(("formation", "fm", "map-unit"), "`unit`"),
    **dict.fromkeys(("remark", "comment", "notes"), "`note`"),
    **dict.fromkeys(("danger", "caution", "warning"), "`hazard`"),
}
"""First words that people try, lower case, and what to type instead. Nothing is taken in their stead."""

KINDS: dict[str, str] = {
    "NAME": "a name",
    "WORD": "a word",
    "LETTERS": "letters of a unit",
    "UNITPAIR": "two units, younger first",
    "UNITNAME": "a name with `;` after it",
    "UNITPART": "an age, a colour, `intrusive` or `also B-Ls`",
    "SEMICOLON": "`;`",
    "COMMA": "a comma and a blank",
    "PERSONNAME": "a name",
    "TEXT": "words",
    "PATH": "a file",
    "BEARING": "a bearing",
    "FIGURE": "an azimuth",
    "DISTANCE": "a distance",
    "SLOPE": "a slope",
    "LENGTH": "a length in metres or feet",
    "TOLERANCE": "`±` and metres",
    "SPREAD": "`±` and a number",
    "COORDINATE": "a figure with E, N, S or W",
    "DECLINED": "an angle with E or W",
    "SHARE": "a number",
    "DIRECTION": "a bearing or compass point",
    "LOOKING": "`looking` and a bearing",
    "WAY": "`up`, `down`, `unseen` or a direction",
    "POINT": "a compass point",
    "RATIO": "a scale such as 1:5000",
    "PAIR": "strike and dip",
    "ARROW": "dip->direction",
    "FLAT": "`flat`",
    "LONE": "a bearing",
    "OVERTURNED": "`overturned`",
    "QUALITY": "`good`, `fair` or `poor`",
    "DOUBT": "`?`",
    "YEAR": "a year",
    "PACEKIND": "`single` or `double`",
    "CERTAINTY": "`certain`, `approximate`, `inferred` or `concealed`",
    "MOVEMENT": "the movement",
    "VERTICAL": "",
    "REMARK": "",
    "COMMENT": "",
    "MORE": "",
    "BAD": "",
}
"""Kinds of word of the grammar in trade words; a kind that is not here is a keyword and stands for itself."""


def kind_in_words(kind: str) -> str:
    """A kind of word of the grammar, as a person would say it; empty for what no message names.

    >>> kind_in_words("SLOPE"), kind_in_words("BACK")
    ('a slope', '`back`')
    """
    if kind in KINDS:
        return KINDS[kind]
    return f"`{kind.lower()}`" if kind.isalpha() else ""
