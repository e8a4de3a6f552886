"""A log in which every sign of the map and the section is wanted once, for tests that look at them."""

from __future__ import annotations

HEAD = """grid EPSG:25833
bearings true
attitudes dip-right
unit Qa Upper Gravel ; Quaternary
unit Ka Grey Marl ; Cretaceous
unit Jb Pale Limestone ; Jurassic
unit Tc Red Sandstone ; Triassic
control 1 660020 E 6660030 N 100 m ±3 gps
"""
READINGS = (
    "bed 142/35",
    "bed 142/35\n  tops 232 graded beds",
    "bed 160/62 overturned",
    "bed 160/62 overturned\n  tops down graded beds",
    "bed flat",
    "bed flat\n  tops up graded beds",
    "bed flat overturned",
    "bed flat overturned\n  tops down graded beds",
    "bed 040/vertical",
    "bed 040/vertical\n  tops 130 graded beds",
    "bed 142/?",
    "crossbed 150/24",
    "crossbed 150/vertical",
    "crossbed flat",
    "foliation 150/44",
    "foliation 150/vertical",
    "foliation flat",
    "cleavage 150/44",
    "cleavage 150/vertical",
    "cleavage flat",
    "joint 150/44",
    "joint 150/vertical",
    "joint flat",
    "vein 150/44",
    "vein 150/vertical",
    "vein flat",
    "dike 150/44",
    "dike 150/vertical",
    "dike flat",
    "axial 150/44",
    "axial 150/vertical",
    "axial flat",
    "fault 150/44",
    "fault 150/vertical",
    "lineation 20->130",
    "lineation 00->130",
    "lineation 90->000",
    "striation 20->130",
    "striation 00->130",
    "striation 90->000",
    "hinge 20->130",
    "hinge 00->130",
    "hinge 90->000",
    "current 130",
    "current 12->130",
    "current 130 both",
)
"""One a station."""
_PLACED = tuple(
    f"{kind} Ka/Jb{doubt} {certainty}{rest}"
    for certainty in ("certain", "approximate", "inferred", "concealed")
    for kind, rest in (("contact", ""), ("unconformity", ""), ("fault", " 150/70"))
    for doubt in ("", "?")
)
CONTACTS = (
    *_PLACED,
    "contact Ka/Jb certain 150/40",
    "fault Ka/Jb certain 150/60 normal",
    "fault Ka/Jb certain 150/60 reverse",
    "fault Ka/Jb certain 150/30 thrust",
    "fault Ka/Jb certain 150/vertical left-lateral",
    "fault Ka/Jb certain 150/vertical right-lateral",
    "fault Ka/Jb certain 150/vertical down SW",
)
"""One a leg."""
THINGS = (
    "sample AA-01 marl",
    "photo 12 looking 320",
    "photo 13",
    "hazard loose blocks",
    "crosses stream 170 Ink Water",
    "crosses path 170",
    "crosses track 170",
    "crosses road 170",
    "crosses ridge 170",
    "crosses cliff 170",
    "crosses wall 170",
    "crosses fence 170",
)


def walk(*, across: int = 12, step_m: int = 100, pitch_m: int = 100) -> str:
    """A walk to and fro in rows: a reading at each station, a contact half-way to the next, then things."""
    lines = [HEAD.rstrip()]
    readings = READINGS
    count = max(len(readings), len(CONTACTS) + 1, len(THINGS))
    unit = "Ka"
    contacts, things = list(CONTACTS), list(THINGS)
    for index in range(count):
        if index == 0:
            lines.append("at 1")
        else:
            row, column = divmod(index, across)
            bearing, length = ("090", step_m) if row % 2 == 0 else ("270", step_m)
            if column == 0:
                bearing, length = "180", pitch_m
            lines.append(f"to {index + 1} {bearing} {length}m {'+1' if index % 2 else '-1'}")
            if contacts and column != 0:
                other = "Jb" if unit == "Ka" else "Ka"
                lines += [f"along {length // 2} m", f"  {contacts.pop(0)}", f"at {index + 1}"]
                unit = other
        lines.append(f"  unit {unit}")
        if index < len(readings):
            lines.append(f"  {readings[index]}")
        if things and index % 3 == 1:
            lines.append(f"  {things.pop(0)}")
    assert not things, things
    assert not contacts, contacts
    lines += [
        "side 2a 000 60 m",
        f"at {count}",
        "covered 10m to 30m scree",
        "sight Tower 354",
        "at 5",
        "sight Tower 315",
        "section A-A' from 1 to 12",
    ]
    return "\n".join(lines) + "\n"
