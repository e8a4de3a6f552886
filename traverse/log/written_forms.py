"""How each statement is written, in the order of the notation: messages and the notebook page both print from here."""

from __future__ import annotations

from typing import Final, NamedTuple

from traverse.log.described import DESCRIBED


class StatementForm(NamedTuple):
    """How a statement is written."""

    form: str
    example: str


HEADING_FORMS: Final[dict[str, StatementForm]] = {
    "notation": StatementForm("notation 1", "notation 1"),
    "traverse": StatementForm("traverse PLACE, DAY", "traverse Tollhouse Gorge, day 3"),
    "date": StatementForm("date YYYY-MM-DD", "date 2026-07-03"),
    "party": StatementForm("party INITIALS NAME, …", "party MO Mara Okafor, LB"),
    "area": StatementForm("area WORDS", "area upper Tollhouse valley"),
    "weather": StatementForm("weather WORDS", "weather dry, wind from the west"),
    "instrument": StatementForm("instrument WORDS", "instrument compass 2, clinometer in degrees"),
    "heights": StatementForm("heights WORDS", "heights above sea level, map sheet"),
    "page": StatementForm("page WORDS", "page 12"),
    "emergency": StatementForm("emergency call|meet|road|radio|back WORDS", "emergency call 112"),
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
        "control NAME EASTING E NORTHING N HEIGHT ±n SOURCE", "control 1 412350 E 4289020 N 786 m ±4 gps"
    ),
    "controls": StatementForm("controls FILE ±n SOURCE", "controls fixes.gpx ±5 gps"),
    "terrain": StatementForm("terrain FILE", "terrain heights/valley.xyz"),
}
"""What is said before the walk begins."""
WALKING_FORMS: Final[dict[str, StatementForm]] = {
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
}
"""Places, legs, and who walks."""
DESCRIBING_FORMS: Final[dict[str, StatementForm]] = {
    word: StatementForm(one.form, one.example) for word, one in DESCRIBED.items()
}
"""What is there."""
FORMS: Final[dict[str, StatementForm]] = {
    **HEADING_FORMS,
    **WALKING_FORMS,
    **DESCRIBING_FORMS,
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
