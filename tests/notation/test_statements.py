"""Every right form compiles and every wrong one is refused on its own line with a remedy.

The examples are those of the description of the notation, statement by statement.
"""

import pytest

from traverse.diagnostic import Severity
from traverse.log.items import PlaneKind
from traverse.notation.read import read_log
from traverse.source import Source

HEADING = (
    "traverse Tollhouse Gorge, day 3",
    "date 2026-07-03",
    "party MO Mara Okafor, LB Lena Brandt, SR Sol Ruiz, KT",
    "grid EPSG:25830",
    "bearings magnetic",
    "declination 0.6 E, 2026, survey chart",
    "attitudes dip-right",
    "pace double 1.52 m",
    "unit Qt Terrace gravel ; Quaternary",
    "unit Ms Stag Marl ; Miocene ; #d9d2a6",
    "unit Lt Tollhouse Limestone ; Cretaceous",
    "unit Sr Rook Sandstone ; Triassic",
    "unit Pq Quarry beds ; Permian",
    "unit Pz Old slates ;",
    "control 1 412350 E 4289020 N 786 m ±4 gps",
    "control Peak-A 413350 E 4289020 N",
    "terrain heights/valley.xyz",
)
ONCE = {
    "traverse",
    "date",
    "party",
    "grid",
    "bearings",
    "declination",
    "attitudes",
    "pace",
    "control",
    "terrain",
}
WALK = ("at 1", "to 2 N47E 64p +3", "to 3 052 118p +2", "to 4 N20W 30p")


def read(text, *, load=None):
    def missing(path):
        raise OSError(path)

    return read_log(Source(name="day.trav", text=text), load=load or missing)


def lines_with(statement, *, where, before=(), walk=WALK, without=()):
    """A log that holds what the statement names, and the number of its line."""
    word = statement.split(maxsplit=1)[0]
    heading = [
        line
        for line in HEADING
        if line.split()[0] not in without
        and not (where == "heading" and word in ONCE and line.split()[0] == word)
        and not (where == "heading" and word == "unit" and line.split()[:2] == statement.split()[:2])
    ]
    if where == "heading":
        lines = ["notation 1", *heading, *before, statement, *walk]
        return lines, len(lines) - len(walk)
    lines = ["notation 1", *heading, *walk, *before, statement]
    return lines, len(lines)


PARTY = """notation 1
bearings true
attitudes dip-right
control 1 412350 E 4289020 N 786 m ±4 gps
at 1
to 7 N47E 64m
  bed 130/40
"""


FIXES = b"name,east,north,sd\n1,412350,4289020,4\n"
WAYPOINT = b'<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="38.7455187" lon="-4.0086067"><name>1</name></wpt></gpx>'


def load(path):
    if path.startswith("fixes"):
        return FIXES if path.endswith(".csv") else WAYPOINT
    if path.startswith("track"):
        return b"<gpx/>"
    if path.startswith(("party", "day1")):
        return PARTY.replace("to 7", "to 17" if path == "day1.trav" else "to 7").encode()
    if path.startswith("gone"):
        raise OSError(path)
    return b"notation 1\nunit Kx Camp beds ; Jurassic\n"


def errors_of(lines):
    if any(line.startswith("ruling ") for line in lines):
        lines = [*lines, "log party-a.trav as A"]
    outcome = read("\n".join(lines) + "\n", load=load)
    return [one for one in outcome.diagnostics if one.severity is Severity.ERROR], outcome


RIGHT_HEADING = [
    "traverse Tollhouse Gorge, day 3",
    "date 2026-07-03",
    "party MO Mara Okafor, LB",
    "party ДЖ Дарья Жукова, ΔΚ Δήμητρα Κόλλια, Éa",
    "heights above sea level, map sheet",
    "group B",
    "grid EPSG:25830",
    "bearings magnetic",
    "bearings true",
    "bearings grid",
    "declination 8 1/2 E, 2026, map margin",
    "declination 25 W, 2019, change 0.1 E, chart",
    "declination from model",
    "declination 25 W, 2019, change 10' E, chart",
    "declination 8°30' W, 2026, chart # not set",
    "attitudes dip-right",
    "attitudes dip-left true",
    "attitudes letters",
    "attitudes dip-first",
    "attitudes dip-direction grid",
    "pace double 1.52 m",
    "pace LB double 100 m in 65, 66, 66, 67",
    "pace 200 ft in 95, 97",
    "pace 100 m in 131 1/2, 132",
    "precision bearing 1, slope 1, pace 2%, tape 0.5%",
    "distances feet",
    "decimals comma",
    "use camp.trav",
    "log party-a.trav as A",
    "log parties/a b.trav  as  Ab1  # a comment",
    "unit Ms Stag Marl ; Miocene ; #d9d2a6",
    "unit Tx New beds ;",
    "unit Db Basalt dike ; Neogene ; #a05050 ; intrusive",
    "unit Db Basalt dike ; intrusive",
    "unit Ms Stag Marl ; #d9d2a6 ; also B-Ls, C-Lst ; Miocene",
    "control 1 412350 E 4289020 N 786 m ±4 gps",
    "control 1 45 20.512 N 64 07.330 W 12 m gps",
    "control Peak-A 412350 E 4289020 N ±10 2579 ft ±3",
    "control 1 45.34187 N 64.12217 W",
    "control 1 45°20'30.7\" N 64° 07' W",
    "control 1 1000 E 1000 N 640 m map",
    "controls fixes.csv",
    "controls fixes of  the day.csv ±5 m receiver 2  # a comment",
    "terrain heights/valley.xyz",
    "area upper valley",
    "weather dry # and warm",
    "instrument compass 2",
    "page 12",
    "emergency call 112, and ask for mountain rescue",
    "emergency meet cairn with the larch pole",
    "emergency road track at the ford, 400 m south",
    "EMERGENCY Radio channel 8, on the hour",
    "emergency back 15:30 at the latest, 14:00 when it rains",
]

RIGHT_BODY = [
    "at 1",
    "to 5 N47E 64p +3 back 230",
    "to 5 047 64p horizontal",
    "from 4 to 5 N88W 99p level back S89E",
    "to A-7 due N 40m ±8 m",
    "to 5 due west 40 m ±8m",
    "to 5 64p +3 N47E",
    "to 5 N120 105ft -12",
    "to 5 S 73 1/2 E 62 1/2p up 8",
    "to 5 S73½E 62½p down 4 1/2",
    "to 5 N 23° 30' W 66dp +8%",
    "to 5 S56°23'38\"E 132sp up 8%",
    "to 5 337.5 31.5 m level back 157 1/2 level",
    "to 5 041°30' 64 paces? +3?",
    "to to N0E 20p",
    "to N41E N90W 20p",
    "to A' 360 20p # to the wall",
    "close 1 S48W 176p -3",
    "from 3 close 1 S48W 176p -3",
    "side 4a N30W 12m -5",
    "from 2 side 2a N30W 12m -5",
    "along 25p right 6p",
    "along 0p to 17p",
    "along 10m to 17m both",
    "along 0p to 17p left 3m",
    "covered 12p to 20p scree",
    "covered 12p to 20p",
    "tie 3 to A-7",
    "tie 3 to A-7 ±2 m",
    "log day1.trav",
    "ruling A-7 bed 128/42 MO 2026-06-21 the other was a joint",
    "ruling A-7 bed 128/42, 130/44 good MO 2026-06-21 2 readings, SR 2026-06-20 agreed",
    "sight Peak-A 312 +6",
    "elevation 1462 m altimeter",
    "elevation 4800 ft ±10",
    "time 07:10",
    "reader MO",
    "pacer KT",
    "compass 2",
    "unit Lt",
    "unit Lt?",
    "unit Lt # limestone; pale",
    "rock Limestone, pale grey",
    "note # 3 in the book",
    "hazard loose blocks",
    "fossil oysters",
    "sketch page 14",
    "iron wire fence beside the outcrop",
    "float Pq common, angular",
    "sample TG-01 shell band",
    "sample #12",
    "photo 118-121 looking NE hammer 33 cm",
    "photo 12 looking up the gully",
    "photo 12 looking N60E",
    "bed 142/70, 140/69, 145/71",
    "bed 142/68",
    "bed N38W/68SW",
    "bed 045 30SE",
    "bed N 45 E 30 SE",
    "bed N45E/30 S",
    "bed 68->232",
    "bed 68 to 232",
    "bed 68→232",
    "bed flat",
    "bed hor",
    "bed 000/00",
    "bed 040/vertical",
    "bed 040/90",
    "bed 054/?",
    "bed N38W/? poor",
    "bed 142/68 overturned good ±5",
    "bed 142/68 OT?",
    "bed 142/68?",
    "crossbed 28->205",
    "foliation 142/68",
    "cleavage 142/68",
    "joint 142/68",
    "vein 142/68",
    "dike 142/68 poor",
    "axial 142/68",
    "apparent 20->080, 28->150",
    "hinge 24->310",
    "lineation 24->310, 22->308",
    "striation rake 20 from NW on 310/75NE",
    "striation rake 20 SE on 310/75NE",
    "current 010 both",
    "current 010",
    "current 12->010",
    "tops SE graded beds, three places",
    "tops up",
    "tops unseen",
    "tops 128 graded",
    "contact Ms/Lt certain 140/72",
    "contact Ms/Lt certain 054/?",
    "contact Ms/Lt certain? 054/? ±8 m",
    "contact Ms/Lt? inferred?",
    "contact Ms/Lt inferred ±8 m",
    "contact Ms/Lt certain 140/72 ±5 ±8 m",
    "unconformity Qt/Pz concealed",
    "fault Ms/Sr approximate 050/60 down SE",
    "fault 310/75NE normal",
    "fault 310/75NE dextral",
    "fault Ms/Sr certain sinistral",
    "fault Ms/Sr inferred",
    "fault Ms/Ms inferred",
    "fault Ms/Ms? concealed 050/60",
    "fault Ms/Sr? certain? 050/60 left-lateral ±8 m",
    "trace Ms/Lt 140/72",
    "trace Ms/Lt",
    "crosses stream 200 Ilvane Water",
    "crosses path NE",
    "checked MO read twice, no iron near",
    "was S84W, SR 2026-07-03, digits exchanged",
    "was 30p, about, SR 2026-07-03, two commas, in it",
    "omit SR counted twice",
    "adjust least-squares anyway published example",
    "adjust none",
    "section A-A' from 1 via 2 to 3, exaggeration 2",
    "section A-A' from 1 via 2 via 4 to 3",
    "section B-B' 110 through 3, project square",
    "section A-A' from 1 to 3, project strike, depth 200 m",
    "sheet scale 1:5000 paper A4",
    "sheet portrait paper A4-Letter",
    "sheet scale 1:500, paper Roll-610",
    "sheet landscape, band 10 m, paper Letter, scale 1:2 500",
    "BED 142/68",
]

WRONG_HEADING = [
    ("traverse", "the title is missing", "traverse"),
    ("date 2026-13-40", "there is no month 13", "year-month-day"),
    ("date 12/7/26", "12 July", "7 December", "2026-07-12"),
    ("party mara", "a person begins with initials", "MO Mara Okafor"),
    ("party дж Дарья", "a person begins with initials", "MO Mara Okafor"),
    *((word, f"`{word}` needs words") for word in ("area", "weather", "instrument", "heights", "page")),
    ("emergency", "whom to call, where to meet, and when to turn back", "emergency call 112"),
    ("emergency 112", "112: what is it", "emergency call 112"),
    (
        "emergency hut",
        "hut: what is it",
        "call NUMBER",
        "meet PLACE",
        "road WORDS",
        "radio WORDS",
        "back HH:MM",
    ),
    ("emergency meet", "`emergency meet` needs a place"),
    ("emergency back 3pm", "a time has 24 hours", "`15:00`"),
    ("emergency back 3 pm", "a time has 24 hours", "`15:00`"),
    ("emergency back 3:30 at the latest", "3:30: a time has 24 hours", "`03:30`"),
    ("emergency back 25:30, at the latest", "25:30: a time has 24 hours", "HH:MM"),
    ("emergency back dusk", "a time has 24 hours", "HH:MM"),
    ("group", "name the party", "group B"),
    ("grid UTM 33N", "on which datum", "EPSG:32633", "EPSG:25833"),
    ("grid EPSG:999999", "no such system is known here", "EPSG:326zz", "EPSG:327zz"),
    ("bearings north", "which north", "true", "magnetic", "grid"),
    ("declination -25, 2026, chart", "a sign can be read two ways", "25 W", "25 E"),
    ("declination 25 W", "give the year and where it comes from", "25 W, YEAR, SOURCE"),
    ("declination model", "declination from model"),
    ("attitudes right-hand", "taught in two senses", "to the right of the strike", "dip-right", "dip-left"),
    ("pace -1 m", "a pace is a length above zero"),
    ("pace 100 m in 0", "a count of 0"),
    ("pace 152 m", "no pace is so long", "for its point"),
    ("pace 100 m in 65, 66000", "no pace is so short", "look at the page, at the course too"),
    ("pace 100 m in 65,66", "is 65,66 one count or two", "a blank after each comma"),
    ("precision bearing 1%", "bearing is in degrees", "bearing 1"),
    ("distances yards", "feet", "metres", "paces"),
    ("decimals", "decimals comma"),
    ("log", "which file", "log party-a.trav as A"),
    ("log ../party-a.trav as A", "outside the log's folder"),
    ("log gone.trav as A", "no file gone.trav"),
    ("log party-a.trav as", "as what", "log party-a.trav as A"),
    ("log party-a.trav as 7", "a party is named by letters", "as A"),
    ("log party-a.trav as North-side", "a party is named by letters", "as A"),
    ("use ../../etc/passwd", "outside the log's folder"),
    ("use /etc/passwd", "outside the log's folder"),
    ("use C:/camp.trav", "outside the log's folder"),
    ("use camp\\units.trav", "`/` between names", "camp/units.trav"),
    (
        "unit Ms Stag Marl",
        "a name needs `;`",
        "unit Ms Stag Marl ; AGE",
        "`unit Ms` alone",
        "rock",
    ),
    ("unit Db Basalt dike ; Neogene ; igneous", "`#rrggbb`, `intrusive` or `also B-Ls`"),
    ("unit Db Basalt dike ; #d9d2a6 ; #a05050", "a second colour"),
    ("unit Db Basalt dike ; #d9d2", "is no colour", "#c8a060"),
    ("unit Db Basalt dike ; also", "which unit", "also B-Ls"),
    ("unit Db Basalt dike ; also B-Ls,C-Lst", "also B-Ls, C-Lst"),
    ("control 1 4289020 N 412350 E", "too large for degrees", "east first", "`412350 E 4289020 N`"),
    ("control 11 431900 N 5012660 E", "too large for degrees", "`431900 E 5012660 N`"),
    ("control 1 451230 N 0641520 E", "latitude 451230 is impossible", "`45 12 30 N`"),
    ("control 1 412350 E 4289020 N 100 m gps ±5 m", "after the source", "100 m ±5 m gps"),
    ("control 1 412350 E 4289020 N 100 gps", "100 what", "100 m"),
    ("control 1 NT 2713 4406", "write the figures in full", "`FIGURE E FIGURE N`"),
    ("control Tower Rock 412350 E 4289020 N", "a name is one word", "Tower-Rock"),
    ("control 1 45.34187, -64.12217", "which is north", "45.34187 N 64.12217 W"),
    ("control 1 412 350 E 4 289 020 N", "a blank inside a figure", "412350 E"),
    ("control 1 45 75.1 N 64 07.330 W", "minutes", "60"),
    ("controls", "which file", "controls fixes.gpx ±5 gps"),
    ("controls ../fixes.gpx", "outside the log's folder"),
    ("controls fixes.txt ±5 gps", "`fixes.txt` is no file of points", "GPX, CSV or a GeoPackage"),
    ("controls fixes.csv gps ±5", "after the source", "controls fixes.csv ±5 gps"),
    ("controls gone.gpx ±5", "gone.gpx", "in the folder of the log"),
    ("controls track.gpx ±5", "no point with a name and no track"),
    ("terrain /data/valley.xyz", "outside the log's folder"),
]

WRONG_BODY = [
    ("ruling", "at which station", "ruling A-7 bed"),
    ("ruling A-7 bed 128/42", "who, when and why", "WHO DATE WHY"),
    ("ruling A-7 bed 128/42 MO 2026-06-21", "who, when and why"),
    ("ruling A-7 bed 128/42 MO 2026-06-31 it was a joint", "no day 31 in that month"),
    ("ruling A-7 bed 128/102 MO 2026-06-21 it was a joint", "a dip is 0 to 90"),
    ("ruling A-7 to 8 N20E 30m MO 2026-06-21 paced again", "nothing that parties read differently"),
    ("ruling A-9 bed 128/42 MO 2026-06-21 it was a joint", "no station A-9"),
    ("ruling A-7 cleavage 128/42 MO 2026-06-21 no bed", "no `cleavage` is booked at A-7"),
    ("at 9", "no station 9", "did you mean 4?", "to"),
    ("to 5 N95E 20p", "a quadrant angle is 0 to 90"),
    ("to 5 N120E 20p", "120", "N120"),
    ("to 5 N45 20p", "N45E", "N45W"),
    ("to 5 47 20p", "three figures", "047"),
    ("to 5 400 20p", "000 to 360"),
    ("to 5 N400 20p", "000 to 360"),
    ("to 5 041°75' 20p", "minutes", "60"),
    ("to 5 NE 20p", "too coarse"),
    ("to 5 045 20", "20 what", "20p", "20m", "20ft", "distances paces"),
    ("to 5 045 20q", "no unit", "20p"),
    ("to 5 045 5'", "5ft"),
    ("to 5 045 0p", "above zero"),
    ("to 5 045 62,5p", "62.5", "decimals comma"),
    ("to 5 045 20p 8%", "up or down", "+8%"),
    ("to 5 045 20p 8 up", "up or down", "+8"),
    ("to 5 045 20p +95", "95%"),
    ("to 5 045 20p 3", "slope carries its sign"),
    ("to 5 045 20p +1 226", "distance twice", "`back 226`"),
    ("along 5p to 9p peat", "`covered 5p to 9p peat`"),
    ("contact certain Gs/Md 030/40", "`contact Gs/Md certain 030/40`"),
    ("fault certain Gs/Md", "`fault Gs/Md certain`"),
    ("contact Gs/Md certain 155/73 down SW", "said of a fault", "`fault Gs/Md certain 155/73 down SW`"),
    ("to 5 045 20p back 225 +3", "+3", "-3", "before `back`"),
    ("to 5 045 20p back", "`back BEARING`"),
    ("to 5 045 20p ±", "± "),
    ("to 1 045 20p", "station 1 exists (line 19)", "close 1"),
    ("to 4 045 20p", "itself"),
    ("to 052 118p", "the leg has no station name", "to NAME 052 118p"),
    ("to N52E 118p", "the leg has no station name", "to NAME N52E 118p"),
    ("to 5 118p", "no bearing"),
    ("to 5 052", "no distance"),
    ("from", "from which station", "from NAME to NAME"),
    (
        "close Weir 100 20p",
        "no station Weir",
        "`control Weir EASTING E NORTHING N` in the heading, if it is a known point",
    ),
    ("close 9 100 20p", "no station 9", "`to 9` walks to a new one"),
    ("side 3 N30W 12m", "3 exists", "a side shot needs a name of its own"),
    ("along 90p", "past the end", "the leg is 30p"),
    ("along 20p to 10p", "a stretch runs forward", "10p to 20p"),
    ("covered 12p", "from where to where", "12p to DISTANCE"),
    ("tie 3", "to which", "tie 3 to NAME"),
    ("sight Bald Knob 312", "a name is one word", "Bald-Knob"),
    ("elevation 1462", "1462 what", "1462 m"),
    ("elevation 112 m altimeter ±4 m", "after the source", "elevation 112 m ±4 m altimeter"),
    ("time 7pm", "a time has 24 hours", "19:00"),
    ("time 7 pm", "a time has 24 hours", "19:00"),
    ("pacer", "who", "pacer KT"),
    ("reader", "who", "reader MO"),
    ("compass", "which", "compass 2"),
    ("unit Lx", "no unit Lx in this log", "did you mean Lt?"),
    *((word, f"`{word}` needs words") for word in ("rock", "note", "hazard", "fossil", "sketch", "iron")),
    ("float 142/68", "float is not measured", "describe it"),
    ("photo", "which", "photo 1123 looking 320"),
    ("bed 142/98", "a dip is 0 to 90", "82 overturned?"),
    *(
        (f"{kind.value} 142/98", "a dip is 0 to 90", "82 overturned?")
        for kind in PlaneKind
        if kind is not PlaneKind.BED
    ),
    ("bed N38W/68NW", "NW lies along the strike", "N38W/68SW", "N38W/68NE"),
    ("bed N38W/68", "to which side", "N38W/68SW", "N38W/68NE"),
    ("bed N45E, 30SE", "one attitude or two", "N45E/30SE"),
    ("bed 68->SW", "a direction in degrees", "68->225"),
    ("bed flat/20", "flat", "`flat`, or a strike and its dip"),
    ("bed ?/30", "a dip without a strike is no plane", "STRIKE/30", "rock"),
    ("contact Ms/Lt certain ?/30", "a dip without a strike is no plane"),
    ("trace Ms/Lt 054/?", "needs the dip"),
    ("bed vertical", "which strike", "STRIKE/vertical"),
    ("bed 142/68 steep here", "only `overturned`", "note"),
    ("bed 142/68NEE", "NEE is no compass point"),
    ("apparent 20->080", "one face is not enough for a plane", "a second face"),
    *((f"{kind} 95->310", "a plunge is 0 to 90") for kind in ("hinge", "lineation", "current")),
    ("striation rake 20 from NE on 310/75NE", "NE is no end of this strike", "NW", "SE"),
    ("striation rake 20 from NE", "which plane", "on STRIKE/DIP"),
    ("hinge 310", "how steep", "hinge 00->310"),
    ("tops", "which way do they young", "tops DIRECTION"),
    ("contact Ms/Lt", "seen or not", "certain", "approximate", "inferred", "concealed"),
    ("contact Ms certain", "two units, younger first", "Ms/Lt"),
    ("unconformity Qt/Zz concealed", "no unit Zz", "did you mean Pz?"),
    ("fault", "which units, or which plane"),
    ("crosses stream", "which way does it run", "crosses stream BEARING"),
    ("checked MO", "say why", "checked MO WHY"),
    ("was S84W", "who, when and why", "was S84W, WHO DATE, WHY"),
    ("omit", "who and why", "omit SR counted twice"),
    ("adjust least squares", "least-squares"),
    ("section A-A' from 1", "to where", "from 1 to NAME"),
    ("section B-B' through 3", "which way", "BEARING through 3"),
    ("section A-A' from 1 to 3 exaggeration 2", "a comma before each option"),
    ("sheet scale 5000", "scale 1:5000"),
    ("| and more", "nothing to go on with", "note"),
]


WRONG_BESIDE = [
    (
        "bed 142/68",
        {"attitudes"},
        (),
        ("232", "052", "142 is the dip direction", "dip-right", "dip-left"),
    ),
    ("to 5 045 20p", {"pace"}, (), ()),
    ("sample TG-01", (), ("sample TG-01 shells",), ("TG-01 is taken (line 23)",)),
    ("trace Ms/Lt", {"terrain"}, (), ("no heights to draw on", "add `terrain FILE`")),
]
"""What is wrong by what stands, or does not stand, above it."""


@pytest.mark.parametrize("statement", RIGHT_HEADING)
def test_right_heading(statement):
    errors, _ = errors_of(lines_with(statement, where="heading")[0])
    assert errors == []


@pytest.mark.parametrize("statement", RIGHT_BODY)
def test_right_line(statement):
    errors, outcome = errors_of(lines_with(statement, where="body")[0])
    assert errors == []
    assert outcome.value.log.stations[:1] == ("1",)


def assert_refused(lines, number, pieces):
    errors, _ = errors_of(lines)
    assert [(one.span.file, one.span.line) for one in errors] == [("day.trav", number)], errors
    said = " ".join((errors[0].message, *errors[0].hints))
    for piece in pieces:
        assert piece in said
    assert errors[0].hints, "a remedy belongs to every error"
    assert not errors[0].message.endswith(".")


@pytest.mark.parametrize(("statement", "pieces"), [(one[0], one[1:]) for one in WRONG_HEADING])
def test_wrong_heading(statement, pieces):
    lines, number = lines_with(statement, where="heading")
    assert_refused(lines, number, pieces)


@pytest.mark.parametrize(("statement", "pieces"), [(one[0], one[1:]) for one in WRONG_BODY])
def test_wrong_line(statement, pieces):
    lines, number = lines_with(statement, where="body")
    assert_refused(lines, number, pieces)


@pytest.mark.parametrize(("statement", "without", "before", "pieces"), WRONG_BESIDE)
def test_wrong_beside_another(statement, without, before, pieces):
    walk = ("at 1", "to 2 N47E 64m +3", "to 3 052 118m +2", "to 4 N20W 30m")
    lines, number = lines_with(statement, where="body", without=without, before=before, walk=walk)
    assert_refused(lines, number, pieces)


def test_only_notation_1_is_read():
    errors, _ = errors_of(["notation 2", "nonsense", "at 1"])
    assert len(errors) == 1
    assert "this program reads notation 1; nothing below is read" in errors[0].message


@pytest.mark.parametrize("line", ["redd. mudst. 20 cm", "cars in the lay-by", "graze 3 sheep"])
def test_a_word_that_is_only_a_little_like_one_is_not_taken_for_it(line):
    """`red mudst.` was asked whether it is `reader`, `cairn` whether it is `iron`."""
    lines, _ = lines_with(line, where="body")
    (one,), _ = errors_of(lines)
    assert not any("did you mean" in hint for hint in one.hints)


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n", "hello\nworld\n", "\ufeff", "|", "\r\r"])
def test_a_text_without_statements_gives_one_message(text):
    outcome = read(text)
    assert [one.code for one in outcome.diagnostics][:1] == ["no-notation"]


def test_a_missing_first_line_is_one_message_and_the_rest_is_read():
    outcome = read("traverse Tollhouse Gorge\nat 1\n  rock Limestone\n")
    assert [one.code for one in outcome.diagnostics] == ["no-notation"]
    assert outcome.value.log.heading.title == "Tollhouse Gorge"


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        *((word, "`bed`") for word in ("bedding", "strike", "S0", "bdg")),
        *((word, "`crossbed`") for word in ("xbed", "x-bed", "foreset")),
        *((word, "`striation`") for word in ("slickenline", "striae", "slicks")),
        *((word, "`tops`") for word in ("young", "youngs", "way-up", "polarity")),
        *((word, "`covered DISTANCE to DISTANCE scree`") for word in ("scree", "alluvium", "drift")),
        *((word, "`close NAME") for word in ("end", "finish", "tie in")),
        *((word, "`rock`") for word in ("lithology", "description")),
        *((word, "`at NAME`, or `to NAME BEARING") for word in ("stop", "station", "loc", "pt")),
        *((word, "`from 1 to 2") for word in ("leg", "1-2")),
        ("1", "`from 1 to NAME BEARING"),
        *((word, "`control`") for word in ("gps", "fix", "benchmark")),
        *((word, "`declination`") for word in ("decl", "var")),
        *((word, "`party`") for word in ("names", "people", "recorder")),
        *((word, "`elevation`") for word in ("height", "el", "alt", "altimeter")),
        *((word, "`crosses stream BEARING NAME`") for word in ("river", "stream", "burn")),
        ("track", "`crosses track BEARING NAME`"),
        *((word, "`hazard`") for word in ("beware", "careful")),
        *((word, "`note`") for word in ("cairn", "gate", "same", "as")),
        ("lin", "`lineation`"),
        ("fol", "`foliation`"),
        *((word, "`side NAME") for word in ("spur", "offset")),
        ("spur", "`along DISTANCE left DISTANCE`"),
        ("Bed:", "leave out the colon"),
        ("contct", "did you mean `contact`?"),
        ("elevatoin", "did you mean `elevation`?"),
    ],
)
@pytest.mark.parametrize("rest", ["", " 142 12p"])
def test_words_people_try(typed, answer, rest):
    if typed == "tie in" and rest:
        rest = " 1"
    lines, number = lines_with(typed + rest, where="body")
    errors, outcome = errors_of(lines)
    assert [one.span.line for one in errors] == [number]
    assert answer in " ".join((errors[0].message, *errors[0].hints))
    assert not outcome.value.log.items, "nothing is taken in its stead"


@pytest.mark.parametrize(
    ("line", "answer"),
    [
        ("flt Ms/Lt certain 042/69", "did you mean `fault`?"),
        ("photos 14", "did you mean `photo`?"),
        ("foto 14 looking 210 the gully", "use `photo`"),
        ("attitude dip-right", "did you mean `attitudes`?"),
        ("titel Tollhouse Gorge", "use `traverse`"),
        ("slope 030", "the slope stands in the line of its leg"),
    ],
)
def test_a_word_is_taken_for_the_one_whose_line_it_begins(line, answer):
    lines, number = lines_with(line, where="body")
    errors, _ = errors_of(lines)
    assert [one.span.line for one in errors] == [number]
    assert answer in errors[0].hints[0]


GEOGRAPHIC = "notation 1\ngrid EPSG:32629\nbearings true\n{}\nat 1\nto 2 047 64m\n"


@pytest.mark.parametrize(
    ("line", "message", "hint"),
    [
        ("control 1 09 07.330 W 53 20.512 N", "latitude comes first", "`53 20.512 N 09 07.330 W`"),
        ("control 1 9 07.330 E 53 20.512 N", "latitude comes first", "`53 20.512 N 9 07.330 E`"),
        ("control 1 N53.34187 W9.12217", "after its figure", "`53.34187 N 9.12217 W`"),
        ("control 1 N 53 20.512 W 9 07.33", "after its figure", "`53 20.512 N 9 07.33 W`"),
        ("control 1 E490000 N5900000", "after its figure", "`490000 E 5900000 N`"),
        ("control 1 53.34187 N 9.12217", "no letter says what it is", "`E` or `W`"),
        ("control 1 53 20.512 09 07.330", "which side of the equator", "`E` or `W`"),
        ("control 1 53 20.512 N", "and the longitude", "`E` or `W`"),
        ("control 1 53 20 30 N 9 7 20 O", "west in some tongues", "`W` or `E`"),
        ("control 1 532030 N 090720 W", "0 to 90 degrees", "`53 20 30 N`"),
        ("control 1 53.3 20.5 N 9 07 W", "only the last figure", "`53.3 N` if these are degrees"),
        ("control 1 53 20.512 N 09 07.330 N", "a latitude twice", "`E` or `W`"),
        ("control 1 53 20,512 N 09 07,330 W", "comma inside a figure", "`20.512`"),
        ("control 1 490,000 E 5,900,000 N", "between thousands", "`490000 E`"),
        ("control 1 490000m E 5900000m N", "without `m`", "`490000 E 5900000 N`"),
        ("control 1 29U 490000 5900000", "the zone stands in the `grid` line", "`490000 E 5900000 N`"),
    ],
)
def test_figures_of_a_known_point_that_people_write_in_other_ways(line, message, hint):
    """Each is told by the figures of the line itself."""
    (one,) = read(GEOGRAPHIC.format(line)).diagnostics
    assert one.kind == "error"
    assert message in one.message
    assert hint in " ".join(one.hints)


def test_the_figure_east_without_its_letter_is_underlined_itself():
    line = "control 1 512300 6712400 N ±5 gps"
    (one,) = read(GEOGRAPHIC.format(line)).diagnostics
    assert line[one.span.column - 1 : one.span.end - 1] == "512300"
    assert one.hints == ("`512300 E`",)


@pytest.mark.parametrize(
    ("figures", "hint"),
    [
        ("53 20.512 N 09 07.330 E", "E, or `W`?"),
        ("53 20.512 S 09 07.330 W", "S, or `N`?"),
        ("09 07.330 N 53 20.512 W", "latitude and longitude exchanged?"),
        ("5900000 E 490000 N", "east and north exchanged? `490000 E 5900000 N`"),
    ],
)
def test_a_known_point_outside_its_zone_is_told_what_would_lie_inside(compile_text, figures, hint):
    (one,) = [
        one
        for one in compile_text(GEOGRAPHIC.format(f"control 1 {figures}")).diagnostics
        if one.kind == "warning"
    ]
    assert one.code == "outside-zone"
    assert hint in one.hints[0]


def test_a_bare_height_of_a_known_point_is_what_distances_says():
    """0.3048 m to a foot, by definition."""
    (known,) = read(
        GEOGRAPHIC.format("distances feet\ncontrol 1 490000 E 5900000 N ±10 400 ±20")
    ).value.log.controls
    assert (known.height_m, known.sd_plan_m, known.sd_height_m) == pytest.approx((121.92, 3.048, 6.096))
    (one,) = read(GEOGRAPHIC.format("control 1 490000 E 5900000 N 400")).diagnostics
    assert one.message == "400 what"


@pytest.mark.parametrize(
    ("line", "hint"),
    [
        ("bed 020/30 overturnd", "did you mean `overturned`?"),
        ("bed 020/30 uprigth", "did you mean `upright`?"),
        ("contact Ms Lt certain", "`Ms/Lt`"),
        ("contact Ms-Lt certain", "`Ms/Lt`"),
        ("contact Ms\\Lt certain", "`Ms/Lt`"),
        ("fault Ms|Lt certain", "`Ms/Lt`"),
        ("contact Rg-Tq certain", "`Rg/Tq`"),
        ("contact MsLt certain", "`Ms/Lt`"),
        ("bed 142\\68", "`142/68`"),
        ("bed 14268", "strike and dip go together with a slash, `142/68`"),
    ],
)
def test_what_was_meant_is_offered_of_the_words_of_the_line(line, hint):
    lines, number = lines_with(line, where="body")
    errors, _ = errors_of(lines)
    assert [(one.span.line, one.hints) for one in errors] == [(number, (hint,))]


def test_where_a_station_exists_is_said_once():
    (one,) = read("notation 1\nbearings true\nat 1\nto 2 045 20m\nto 1 145 20m\n").diagnostics
    assert one.code == "station-exists"
    assert "line 3" in one.message
    assert one.labels == ()


@pytest.mark.parametrize(
    ("second", "asked"),
    [
        ("1", "was line 3 `control 10`, as `control 1` stands twice"),
        ("11", "was line 3 `control 10`, or is it `close 11` here, as no leg above leads to 11"),
        ("45", "`to 10` walks to a new one"),
    ],
)
def test_the_known_point_at_the_end_of_the_walk_by_another_number(second, asked):
    page = f"notation 1\ncontrol 1 0 E 0 N\ncontrol {second} 0 E 40 N\nbearings true\nat 1\nto 2 000 20m\nclose 10 000 20m\n"
    (one,) = [one for one in read(page).diagnostics if one.code == "unknown-station"]
    assert one.hints[0].split("; else")[0] == asked
