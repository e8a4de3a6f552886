"""A walk with a sign at each station, and where each station lies on paper by arithmetic of the tests' own."""

from __future__ import annotations

import math

EAST, NORTH = 660_020.0, 6_660_030.0
"""In zone 33, 2.9 degrees east of its meridian and 60 degrees north: grid north is 2.5 degrees off true north."""
SCALE = 2500
STEP_M, ROW_M, ACROSS = 75.0, 90.0, 9

STATIONS = {
    1: "",
    2: "bed 051/35",
    3: "bed 051/35\n  tops 141 graded beds",
    4: "bed 051/62 overturned",
    5: "bed 051/62 overturned\n  tops 321 graded beds",
    6: "bed flat",
    7: "bed 051/vertical",
    8: "cleavage 051/44",
    9: "foliation 051/44",
    10: "joint 051/44",
    11: "lineation 20->131",
    12: "sample AA-01 marl",
    13: "photo 12 looking 311",
    14: "hazard loose blocks",
    15: "crosses stream 160 Ink Water",
    16: "bed flat overturned",
    17: "joint 051/vertical",
    18: "cleavage 051/vertical",
    19: "",
    20: "",
    21: "",
    22: "",
    23: "",
    24: "",
    25: "",
    26: "",
    27: "",
}
CONTACTS = {
    20: "contact Ka/Jb certain 051/40",
    21: "contact Ka/Jb approximate 051/40",
    22: "contact Ka/Jb inferred 051/40",
    23: "contact Ka/Jb concealed 051/40",
    24: "fault Ka/Jb certain 051/70 down SE",
    25: "fault Ka/Jb certain 051/30 thrust",
    26: "fault Ka/Jb certain 051/vertical right-lateral",
    27: "contact Ka/Jb? certain",
}
"""Met half-way on the leg to the station; their course is their own strike, or where none is read that of the nearest bed."""


def body() -> str:
    lines = [
        "grid EPSG:25833",
        "bearings true",
        "attitudes dip-right",
        "unit Ka Grey Marl ; Cretaceous",
        "unit Jb Pale Limestone ; Jurassic",
        f"control 1 {EAST:.0f} E {NORTH:.0f} N 100 m",
        "at 1",
    ]
    unit = "Ka"
    for name, what in STATIONS.items():
        if name > 1:
            bearing, length = leg(name)
            lines.append(f"to {name} {bearing:03.0f} {length:.0f}m +0")
        if name in CONTACTS:
            lines += [f"along {length / 2:.1f} m", f"  {CONTACTS[name]}", f"at {name}"]
            unit = "Jb" if unit == "Ka" else "Ka"
        lines.append(f"  unit {unit}")
        if what:
            lines.append(f"  {what}")
    lines += [
        "side 27a 180 60m +0",
        "section A-A' from 2 to 9",
        f"sheet scale 1:{SCALE} paper A3 landscape band 20 m",
    ]
    return "\n".join(lines) + "\n"


def leg(name: int) -> tuple[float, float]:
    """Bearing and length of the leg to a station: rows to and fro, each south of the last."""
    row, column = divmod(name - 1, ACROSS)
    if column == 0:
        return 180.0, ROW_M
    return (90.0 if row % 2 == 0 else 270.0), STEP_M


def ground(name: int, convergence_deg: float) -> tuple[float, float]:
    """East and north of a station: its legs added up, each turned from true to grid north."""
    east, north = EAST, NORTH
    for one in range(2, name + 1):
        bearing, length = leg(one)
        turn = math.radians(bearing - convergence_deg)
        east, north = east + length * math.sin(turn), north + length * math.cos(turn)
    return east, north
