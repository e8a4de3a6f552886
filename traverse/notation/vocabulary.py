"""The notation in trade words: kinds of word, and words people try."""

from __future__ import annotations

_PLACE = "`at NAME`, or `to NAME BEARING DISTANCE` for a leg"
_LEG = "`from 1 to 2 BEARING DISTANCE`"
_SIDE = "`side NAME BEARING DISTANCE` for a shot, `along DISTANCE left DISTANCE` for a point beside a leg"
TRIED: dict[str, str] = {
    **dict.fromkeys(("bedding", "strike", "s0", "bdg", "dip", "attitude"), "`bed`"),
    **dict.fromkeys(
        ("xbed", "x-bed", "x-bedding", "cross-bed", "foreset", "foresets", "xb", "xbd"), "`crossbed`"
    ),
    **dict.fromkeys(("slickenline", "slickenlines", "striae", "slicks", "slickenside"), "`striation`"),
    **dict.fromkeys(("young", "youngs", "way-up", "wayup", "polarity", "younging"), "`tops`"),
    **dict.fromkeys(("scree", "alluvium", "drift", "cover"), "`covered DISTANCE to DISTANCE scree`"),
    **dict.fromkeys(("end", "finish", "closes"), "`close NAME BEARING DISTANCE`"),
    **dict.fromkeys(("lithology", "description", "lith"), "`rock`"),
    **dict.fromkeys(("stop", "station", "loc", "pt", "stn", "locality", "loc."), _PLACE),
    "leg": _LEG,
    **dict.fromkeys(("gps", "fix", "benchmark", "bm"), "`control`"),
    **dict.fromkeys(("decl", "var", "variation", "dec"), "`declination`"),
    **dict.fromkeys(("names", "people", "recorder", "members"), "`party`"),
    **dict.fromkeys(("height", "el", "alt", "altitude", "altimeter"), "`elevation`"),
    **dict.fromkeys(("spur", "offset", "stub"), _SIDE),
    **dict.fromkeys(("s1", "fol", "foln"), "`foliation`"),
    **dict.fromkeys(("clv", "clvg"), "`cleavage`"),
    **dict.fromkeys(("jt", "jointing"), "`joint`"),
    **dict.fromkeys(("dyke",), "`dike`"),
    **dict.fromkeys(("lin", "lineations"), "`lineation`"),
    **dict.fromkeys(("river", "beck", "burn", "brook"), "`crosses stream BEARING NAME`"),
    **{word: f"`crosses {word} BEARING NAME`" for word in ("stream", "path", "track", "road", "ridge")},
    **dict.fromkeys(("cairn", "gate", "fence", "bridge"), "`note` for what lies there"),
    **dict.fromkeys(("same", "as", "ditto"), "`note`, or type what was read once more"),
    **dict.fromkeys(("foto", "picture", "pic"), "`photo`"),
    **dict.fromkeys(("datum", "crs", "projection"), "`grid`"),
    "slope": "`to NAME BEARING DISTANCE +8`: the slope stands in the line of its leg",
    **dict.fromkeys(("title", "name"), "`traverse`"),
    **dict.fromkeys(("formation", "fm", "map-unit"), "`unit`"),
    **dict.fromkeys(("remark", "comment", "notes"), "`note`"),
    **dict.fromkeys(("danger", "caution", "warning", "beware", "careful"), "`hazard`"),
    **dict.fromkeys(("rescue", "sos", "phone", "call", "meet", "radio", "turn-back"), "`emergency`"),
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
    "TIED": "a place, or `7-9=12-14`",
    "PATH": "a file",
    "POINTFILE": "a GPX, CSV or GeoPackage file",
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
