"""What the words mean that values of the layers are."""

from __future__ import annotations

from typing import NamedTuple


class Term(NamedTuple):
    """A word with its meaning."""

    field: str
    word: str
    means: str


TERMS = (
    Term("certainty", "certain", "Seen, both what it is and where."),
    Term("certainty", "approximate", "Placed to a few metres, or to the ± that is noted."),
    Term(
        "certainty",
        "inferred",
        "Not seen: placed by float, soil, the shape of the ground, or what lies on both sides.",
    ),
    Term("certainty", "concealed", "Known to lie there, under something younger."),
    Term("covered", "yes", "The ground hides the rock: that is an observation, not a missing one."),
    Term("queried", "yes", "Written with a `?`: doubted that it is there, or what it is."),
    Term("kind", "contact", "A surface that two units meet in; the younger is named first."),
    Term("kind", "unconformity", "A contact over ground that was worn down first."),
    Term("kind", "fault", "A surface along which the ground moved."),
    Term(
        "kind",
        "unbooked change",
        "One unit gives way to another and no contact was booked: the line is drawn square to the leg.",
    ),
    Term("kind", "bed", "Bedding: the surface of a layer as it was laid down."),
    Term("kind", "crossbed", "A surface laid down aslant inside a layer: no bedding."),
    Term("kind", "foliation", "Planes of minerals in line."),
    Term("kind", "cleavage", "Planes along which the rock splits."),
    Term("kind", "joint", "A crack without movement along it."),
    Term("kind", "vein", "A crack filled with minerals."),
    Term("kind", "dike", "The wall of a body that cuts the beds."),
    Term("kind", "axial", "The surface through the hinges of a fold."),
    Term("kind", "lineation", "Minerals in line, or the meeting of two planes."),
    Term("kind", "striation", "Scratches on the surface of a fault."),
    Term("kind", "hinge", "The line of strongest bend of a folded bed."),
    Term("kind", "current", "The way water or wind flowed when the bed was laid down."),
    Term("kind", "rock", "What the rock is, in the party's words."),
    Term("kind", "float", "Loose fragments, not in place."),
    Term("kind", "iron", "Iron near by, which turns a compass."),
    Term("kind", "control", "A place known apart from the walk."),
    Term(
        "kind", "control not used", "A known place that the walk contradicts; drawn where the walk came to."
    ),
    Term("kind", "walked", "Reached by a leg of the walk."),
    Term("kind", "side", "Shot to the side; nothing goes on from there."),
    Term("kind", "sighted", "Placed by bearings from two stations or more."),
    Term("standing", "adjusted", "On a loop or tie that closes."),
    Term("standing", "unchecked", "No loop and no tie comes by."),
    Term(
        "standing",
        "not adjusted",
        "All that leads there is a loop or tie that was left open: no error is known.",
    ),
    Term("tops", "up", "The beds young upward."),
    Term("tops", "down", "The beds young downward: they are overturned."),
    Term("tops", "unseen", "It was looked for, and not seen."),
    Term(
        "sd", "", "One standard deviation: two of three lie within it, nineteen of twenty within two of it."
    ),
)
