"""Random readings, statements and whole logs, as text that a party could have typed."""

from __future__ import annotations

from hypothesis import strategies as st

blanks = st.sampled_from([" ", "  ", "\t", " \t "])
words = (
    st.text(st.characters(blacklist_categories=("Cc", "Cs", "Zl", "Zp")), min_size=1, max_size=40)
    .map(str.strip)
    .filter(lambda text: text and text[0] not in "#|" and not text[0].isspace())
)
"""Free text in any script."""
plain_words = st.sampled_from(
    [
        "shell bands",
        "pale grey, thick-bedded; ribs",
        '<b>Fe</b> & "ochre"',
        "grès fins # net",
        "שכבת גיר",
        "🪨 rim",
        "=1+1",
    ]
)
figures = st.sampled_from(["1", "4", "12", "37.5", "8 1/2", "3½", "64"])


@st.composite
def azimuths(draw: st.DrawFn) -> str:
    """An azimuth of three figures in one of its spellings."""
    degrees = draw(st.integers(0, 360))
    return draw(
        st.sampled_from([f"{degrees:03}", f"{degrees:03}°", f"{degrees % 360:03}.5", f"{degrees % 360:03}½"])
    )


@st.composite
def quadrants(draw: st.DrawFn) -> str:
    """A quadrant bearing in one of its spellings."""
    first, last = draw(st.sampled_from("NSns")), draw(st.sampled_from("EWew"))
    angle = draw(st.integers(0, 90))
    gap = draw(st.sampled_from(["", " "]))
    more = draw(st.sampled_from(["", "°", "½" if angle < 90 else "", " 1/2" if angle < 90 else ""]))
    return f"{first}{gap}{angle}{more}{gap}{last}"


bearings = azimuths() | quadrants() | st.sampled_from(["due N", "due west", "N120", "n 045"])


@st.composite
def distances(draw: st.DrawFn) -> str:
    """A distance in paces, metres or feet."""
    value = draw(st.integers(1, 300))
    unit = draw(st.sampled_from(["p", " paces", "m", " m", "ft", " feet", "½p", ".5m"]))
    return f"{value}{unit}"


slopes = st.sampled_from(["+3", "-12", "+8%", "up 8", "down 4 1/2", "up 8%", "level", "−3", "+3?"])


@st.composite
def planes(draw: st.DrawFn) -> str:
    """An attitude of a plane that needs no convention, or that `dip-right` reads."""
    strike, dip = draw(st.integers(0, 359)), draw(st.integers(1, 89))
    shown = draw(
        st.sampled_from(
            [
                f"{strike:03}/{dip}", f"{strike:03} {dip}", f"{dip}->{strike:03}", f"{dip} to {strike:03}", "flat", "000/00",
                f"{strike:03}/vertical", "N45E/30SE", "N38W/68SW", "N 45 E 30 S", f"{strike:03}/90", f"{dip}→{strike:03}",
            ]
        )
    )  # fmt: skip
    said = draw(st.lists(st.sampled_from(["good", "poor", "±5", "± 5", "?"]), max_size=2, unique=True))
    return " ".join([shown, *said])


plane_lists = st.lists(planes(), min_size=1, max_size=3).map(", ".join)


@st.composite
def legs(draw: st.DrawFn, head: str) -> str:
    """A leg with its readings in any order."""
    readings = [draw(bearings), draw(distances())]
    slope = draw(st.none() | slopes)
    if slope is not None:
        readings.append(slope)
    readings += draw(st.lists(st.sampled_from(["horizontal", "±8 m", "±8m"]), max_size=1))
    readings = draw(st.permutations(readings))
    if draw(st.booleans()):
        readings.append(f"back {draw(bearings)}")
    return " ".join([head, *readings])


@st.composite
def things(draw: st.DrawFn, number: int) -> list[str]:
    """Something described at a place, with its continuation lines."""
    text = draw(words | plain_words)
    after = draw(plain_words)  # what follows a reading must not look like a part of it
    kind = draw(st.integers(0, 11))
    lines = [
        f"rock {text}",
        f"bed {draw(plane_lists)}",
        f"unit {draw(st.sampled_from(['Ms', 'Lt?', 'Sr # seen']))}",
        f"contact Ms/Lt {draw(st.sampled_from(['certain', 'approximate?', 'inferred ±8 m', 'concealed 140/72']))}",
        f"sample S-{number} {text}",
        f"photo {number} looking {draw(bearings)} {after}",
        f"tops {draw(st.sampled_from(['up', 'SE', '128', 'unseen']))} {after}",
        f"hinge {draw(st.integers(0, 90))}->{draw(st.integers(0, 359)):03}",
        "striation RAKE 20 From NW on 310/75NE, 10->045",
        f"elevation {draw(figures)} m ±4 {after}",
        f"crosses stream {draw(bearings)} {after}",
        "apparent 20->080,  28->150",
    ]  # fmt: skip
    chosen = [lines[kind]]
    if kind in {0, 4}:
        chosen += [f"| {draw(words)}" for _ in range(draw(st.integers(0, 2)))]
    if draw(st.integers(0, 9)) == 0:
        chosen.append("checked MO read twice")
    if draw(st.integers(0, 19)) == 0:
        chosen.append(f"omit LB {draw(words)}")
    return chosen


@st.composite
def logs(draw: st.DrawFn) -> str:
    """A whole log without errors, typed by a person in no particular order or layout."""
    heading = [
        "traverse Tollhouse Gorge, day 3", "date 2026-07-03", "party MO Mara Okafor,  LB", "bearings magnetic",
        "declination 8 1/2 E, 2026, map margin", "attitudes dip-right", "pace double 100 m in 65,  66, 67½",
        "precision bearing 1, slope 1, pace 2 %", "unit Ms Stag Marl ; Miocene;#d9d2a6",
        "unit Lt Tollhouse Limestone; Cretaceous", "unit Sr Rook Sandstone ;", "control 1 412350 E 4289020 N 786 m ±4 gps",
        "weather dry # and hot", "emergency  call 112", "emergency back 15:30",
    ]  # fmt: skip
    lines = [["notation 1"], *([line] for line in draw(st.permutations(heading)))]
    lines.append(["at 1"])
    stations = ["1"]
    for number in range(draw(st.integers(0, 6))):
        name = draw(st.sampled_from(["", "st.", "to", "N4", "é"])) + str(number + 2)
        choice = draw(st.integers(0, 4))
        if choice == 0:
            lines.append([draw(legs(f"side {name}"))])
        elif choice == 1 and len(stations) > 2:
            lines.append([draw(legs(f"from {stations[-1]} close {stations[0]}"))])
            lines.append([f"at {stations[-1]}"])
            continue
        else:
            lines.append([draw(legs(f"to {name}"))])
            stations.append(name)
            if draw(st.booleans()):
                lines.append(["along 0p to 1p left 3m"])
        lines += [draw(things(10 * number + index)) for index in range(draw(st.integers(0, 3)))]
    if len(stations) > 1:
        lines.append([f"section A-A' FROM 1 to {stations[-1]}, project strike"])
    return draw(laid_out(lines))


@st.composite
def laid_out(draw: st.DrawFn, groups: list[list[str]]) -> str:
    """Lines with whatever blanks, blank lines, comments and line ends a person puts between them."""
    ends = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    typed: list[str] = []
    for group in groups:
        if typed:
            typed += draw(st.lists(st.sampled_from(["", "  ", "# a comment", "\t#x"]), max_size=2))
        for at, line in enumerate(group):
            indent = draw(st.sampled_from(["", "  ", "\t"]))
            tail = draw(st.sampled_from(["", " ", "\t"]))
            if at and line.startswith("|") and draw(st.integers(0, 9)) == 0:
                typed.append("   # between")
            typed.append(f"{indent}{line}{tail}")
    return ends.join(typed) + draw(st.sampled_from(["", ends]))
