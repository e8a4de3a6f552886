"""Which sign of the map each record has, and every sign that a log's map can show."""

from __future__ import annotations

from traverse.ground.records import Traverse
from traverse.location.records import PlaceKind
from traverse.log.items import Certainty, ContactKind, Crossing, LegKind
from traverse.log.records import Log
from traverse.sheet.map.attitudes import sighting
from traverse.sheet.map.fault_signs import movement_signs
from traverse.sheet.signs.shown import Kept, icon_of, shown, sign_of
from traverse.sheet.signs.symbols import PARTY_SIGNS
from traverse.structure.readings.records import Placed

CONTROL_SIGN = "control"
STATION_SIGNS = {
    PlaceKind.CONTROL: CONTROL_SIGN,
    PlaceKind.UNUSED: "station",  # it stands where the walk came to
    PlaceKind.WALKED: "station",
    PlaceKind.SIDE: "side shot",
    PlaceKind.SIGHTED: "landmark",
}


def station_sign(log: Log, name: str, kind: PlaceKind) -> str:
    """The sign of a station: by what it is, else by whose it is."""
    sign = STATION_SIGNS[kind]
    party = log.party_of(name) if sign == "station" else None
    return sign if party is None else PARTY_SIGNS[party % len(PARTY_SIGNS)]


def base_signs(trav: Traverse) -> tuple[str, ...]:
    """Those of them that stand on every handout too, whatever the leader gives."""
    found: dict[str, None] = {"edge of ground seen": None}
    for leg in trav.survey.legs:
        found["spur" if leg.booked.kind is LegKind.SIDE else "leg"] = None
    for name, place in trav.survey.places.items():
        found[station_sign(trav.log, name, place.kind)] = None
    for thing in trav.geology.things:
        kept = shown(thing.record).kept in {Kept.ALL, Kept.BASE}
        if kept and (sign := _sign_of_thing(thing)) is not None:
            found[sign] = None
    if trav.geology.sections:
        found["section line"] = None
    if trav.ground.terrain is not None:
        found["contour"] = None
    return tuple(found)


def _sign_of_thing(thing: Placed) -> str | None:
    if isinstance(thing.record, Crossing):
        return thing.record.kind.value
    return icon_of(thing.record, toward=thing.azimuth_deg is not None)


def signs_expected(trav: Traverse) -> tuple[str, ...]:
    """Every sign that a map of this log can show, for the room that a legend wants before the map is drawn."""
    found = dict.fromkeys(base_signs(trav))
    for contact in trav.geology.contacts:
        line = sign_of(contact.kind)
        certainty = contact.certainty or Certainty.CERTAIN
        found[f"{line} {certainty.value}"] = None
        if certainty is Certainty.CERTAIN:
            found[f"{line} {Certainty.APPROXIMATE.value}"] = None
        if contact.kind is ContactKind.FAULT:
            found.update(dict.fromkeys(movement_signs(contact)))
        if contact.queried:
            found["queried"] = None
        if contact.dip_deg is not None and contact.strike_deg is not None:
            found[f"{line} dip"] = None
    if trav.geology.open_parties:
        found["walk aside"] = None
    for walk in trav.survey.aside:
        found["walk aside"] = None
        found[PARTY_SIGNS[walk.party % len(PARTY_SIGNS)]] = None
    if trav.survey.tracks:
        found["receiver track"] = None
    for attitude in trav.geology.each_once:
        found[sighting(attitude).sign] = None
    for thing in trav.geology.things:
        if (sign := _sign_of_thing(thing)) is not None:
            found[sign] = None
    if any(stretch.covered for stretch in trav.geology.band):
        found["covered"] = None
    if trav.geology.fold_axis is not None and any(
        any(axial.hinge for axial in one.construction.axial) for one in trav.geology.sections
    ):
        found["axial trace"] = None
    for join in trav.ground.joins:
        found["computed fault trace" if join.fault else "computed trace"] = None
    if trav.ground.outcrops:
        found["projected trace"] = None
    return tuple(found)
