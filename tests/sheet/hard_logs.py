"""Walks made to provoke collisions on paper; invented, and their ground means nothing."""

from itertools import pairwise

HEAD = "notation 1\ntraverse {}\ndate 2026-05-04\nparty AR Ada Rook\nbearings true\nattitudes dip-right\npace 0.8 m\n"

SIGNS_CLOSE_BY = (
    HEAD.format("Signs close by")
    + """unit Aa Upper Slate ; Silurian
unit Bb Lower Slate ; Ordovician
control 1 1000 E 2000 N 100 m
at 1
  unit Aa
  bed 030/40
  cleavage 040/70
  joint 120/vertical
to 2 080 60m
  unit Aa
  joint 010/vertical
to 3 085 55m
  unit Aa
  cleavage 050/65
to 4 100 50m
  unit Bb
  cleavage 048/66
  joint 095/60
to 5 190 60m
  unit Bb
  joint 100/vertical
  bed 200/vertical
to 6 260 70m
  unit Bb
  foliation 040/50
to 7 265 60m
  unit Aa
  cleavage 045/vertical
  foliation 040/vertical
close 1 330 60m
section A-A' 090 through 1
"""
)
LONG_NAMES = (
    HEAD.format("A loop that is far out")
    + """unit Aa Slate ; Silurian
at station-of-the-first-morning
  unit Aa
  bed 030/40
to second-place 080 260m
to third-place 200 300m
to fourth-place 300 200m
close station-of-the-first-morning 010 30m
"""
)


def nine_thin_units(*, slope=" +2"):
    """Steep beds 8 m thick, crossed twice: letters stand closer than they are wide on small scales."""
    units = [f"K{letter}" for letter in "abcdefghi"]
    lines = [f"unit {unit} Bed {unit[1]} ; Cretaceous" for unit in units]
    lines += ["at 1", "  unit Ka", "  bed 000/80", f"to 2 090 80m{slope}"]
    pairs = [f"{a}/{b}" for a, b in pairwise(units)]
    for number, pair in enumerate(pairs):
        lines += [f"along {8 + 8 * number}m", f"  contact {pair} certain"]
    lines += [
        "at 2",
        "  unit Ki",
        "  bed 000/80",
        f"to 3 180 60m{slope and ' level'}",
        "  unit Ki",
        "  bed 000/78",
    ]
    lines += [f"to 4 270 80m{slope.replace('+', '-')}"]
    for number, pair in enumerate(reversed(pairs)):
        lines += [f"along {8 + 8 * number}m", f"  contact {pair} certain"]
    lines += [
        "at 4",
        "  unit Ka",
        "  bed 000/81",
        f"close 1 000 60m{slope and ' level'}",
        "section A-A' 090 through 1",
    ]
    return HEAD.format("Nine thin units") + "\n".join(lines) + "\n"


def long_ridge():
    """Four kilometres out along a ridge and back beside it, 45 stations."""
    lines = ["unit Aa Slate ; Silurian", "at 1", "  unit Aa", "  bed 030/40"]
    for number in range(2, 24):
        lines.append(f"to {number} {70 + number * 13 % 17:03d} {150 + number * 37 % 60}m")
        if number % 3 == 0:
            lines.append(f"  bed {30 + number:03d}/{40 + number}")
    lines.append("to 24 160 90m")
    lines += [
        f"to {number} {250 + number * 11 % 17:03d} {150 + number * 37 % 60}m" for number in range(25, 46)
    ]
    return HEAD.format("A long ridge") + "\n".join([*lines, "close 1 300 150m"]) + "\n"


HARD = {
    "signs close by": SIGNS_CLOSE_BY,
    "long names": LONG_NAMES,
    "nine thin units": nine_thin_units(),
    "nine units, no heights": nine_thin_units(slope=""),
    "long ridge": long_ridge(),
    "index of maps": SIGNS_CLOSE_BY + "sheet scale 1:500\n",
}
