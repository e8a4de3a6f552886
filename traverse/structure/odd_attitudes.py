"""Attitudes of beds and contacts that do not fit the structure the rest of their body has, and the slip of the pen that would explain them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterator, Sequence
from functools import cache
from itertools import combinations
from typing import NamedTuple, Protocol

import numpy as np

from traverse.angle import POINTS, wrap_180, wrap_360
from traverse.log.items import ContactKind
from traverse.settled import settled
from traverse.structure.form.domains import BedDomain
from traverse.structure.readings.directions import Vectors, along, pole, pole_angle, pole_angles
from traverse.structure.readings.girdle import axis_or_lack, off_circle_deg
from traverse.structure.readings.mean import orientation, principal_axis
from traverse.structure.readings.place_errors import contact_pole, poles_of
from traverse.structure.readings.records import (
    FoldAxis,
    NoAxis,
    NoGirdle,
    PlacedContact,
    PlaneAttitude,
)
from traverse.structure.walk.neighbours import Neighbours
from traverse.structure.walk.order import WalkOrder
from traverse.trade import (
    ALIKE_DEG,
    FORESET_DEG,
    LETTER_REFUSED_DEG,
    LIMB_DEG,
    ODD_BED_DEG,
    PANEL_DEG,
    POLE_SD_DEG,
    SLIP_CHI_SQUARE,
    SURE_POLE_SD,
    SURE_SD,
)

_LEAST_REST = 4
"""Fewer other beds do not tell their own scatter; common practice, no source."""
_LEAST_ALIKE = 4
"""So many beds, all alike, tell how the beds of the day lie; common practice, no source."""
_MOST_NAMED = 2
"""Of such beds, those that are named."""
_MOST = 8
"""So many of the readings that lie farthest off are looked at."""
_AZIMUTH_FIRST = re.compile(r"(?P<azimuth>\d{3})(?P<between>/)(?P<dip>\d{1,2})")
_DIP_FIRST = re.compile(r"(?P<dip>\d{1,2})(?P<between>/|->|→)(?P<azimuth>\d{3})")
_DIP_BEFORE_LETTER = re.compile(r"(?P<before>.*/)(?P<dip>\d{2})(?P<after>[NESW]{1,2})", re.IGNORECASE)
_LETTERED = re.compile(
    r"(?P<strike>\d{1,3}|[NS]\s*\d{1,2}\s*[EW])(?P<dip>\s*/\s*\d{1,2}\s*)(?P<letter>N|NE|E|SE|S|SW|W|NW)",
    re.IGNORECASE,
)
_QUADRANT = re.compile(r"(?P<pole>[NS])\s*(?P<angle>\d{1,2})\s*(?P<side>[EW])", re.IGNORECASE)
_LETTERS = POINTS[::2]
EXCHANGED = "digits exchanged"
_FIGURE_LOST = "a figure lost"
_STRIKE_AND_DIP = "strike and dip exchanged"
HALF_TURN, QUARTER_TURN = "a half turn", "a quarter turn"
_TURNS = {90.0: QUARTER_TURN, -90.0: QUARTER_TURN, 180.0: HALF_TURN}


class WrittenSlip(NamedTuple):
    """A slip of the pen, and the plane that it would have made of what was read."""

    words: str
    dip_deg: float
    dip_direction_deg: float
    reading: str
    """What the page may say, `123/45`, or the dip and its direction."""

    @property
    def pole(self) -> Vectors:
        """Of the plane that was read."""
        return pole(self.dip_deg, dip_direction_deg=self.dip_direction_deg)


class WrittenPlane(Protocol):
    """A plane of beds as it was read: at an outcrop of them, or at a contact."""

    @property
    def written(self) -> str:
        """As on the page."""

    @property
    def flat(self) -> bool:
        """Whether it has no strike."""

    @property
    def dip_deg(self) -> float:
        """From the horizontal."""

    @property
    def dip_direction_deg(self) -> float:
        """True azimuth."""

    @property
    def sd_deg(self) -> float:
        """Of its pole."""


class ContactRead(NamedTuple):
    """A plane of a contact, as a `WrittenPlane`."""

    written: str
    flat: bool
    dip_deg: float
    dip_direction_deg: float
    sd_deg: float


class OddContact(NamedTuple):
    """The attitude of a contact that the beds on both sides of it do not bear out."""

    contact: PlacedContact
    written: str
    off_deg: float
    """From the mean of the two."""
    beds: tuple[PlaneAttitude, ...]
    slip: WrittenSlip
    agree: bool = True
    """Whether the beds do; else it lies off all of them, and as one of them with the slip."""


class Odd(NamedTuple):
    """A reading that the rest does not bear out."""

    bed: PlaneAttitude
    off_deg: float
    """From the girdle or the mean of the rest."""
    girdle: bool
    slip: WrittenSlip
    other: PlaneAttitude | None = None
    """The second of two that the rest bears out without both of them alone."""
    turning: bool = False
    """Whether it stands where beds turn from one limb to the other, and with all others keeps to a small circle: so do good
    readings round the end of a dome or of a fold."""


TurnsOver = Callable[[PlaneAttitude, WrittenSlip], bool]
"""Whether a bed that the contacts beside it bear out would, read so, set one of them upside down."""


def odd_attitudes(domains: Sequence[BedDomain], walk: WalkOrder, turns_over: TurnsOver) -> Iterator[Odd]:
    """Readings that a slip explains clearly better than the structure of the rest does as they stand.

    Each is left out in turn, and is held against the girdle of the rest, or against their mean where they are one panel,
    within their scatter. A slip is told where twice the logarithm of how much likelier it makes the reading exceeds
    `SLIP_CHI_SQUARE`, and where the reading that it leads to lies as a bed next to it does, and `turns_over` no contact. Where none is told so, two
    are left out at a time, and are told where one pair alone leaves one structure.
    """
    for domain in domains:
        beds = _DomainBeds(domain.beds, walk, turns_over)
        alone = tuple(_odd_ones(beds)) if len(domain.beds) > _LEAST_REST else ()
        yield from alone
        alike = domain.no_axis is None or domain.no_axis.why is NoGirdle.ALIKE
        if not alone and not alike and len(domain.beds) > _LEAST_REST + 2:
            yield from _odd_pair(beds)


class _DomainBeds:
    """Beds of a domain in the order of the log."""

    def __init__(self, beds: Sequence[PlaneAttitude], walk: WalkOrder, turns_over: TurnsOver) -> None:
        self.beds, self._walk = beds, walk
        self.turns_over = turns_over
        self._orders = [bed.order for bed in beds]
        self.beside = cache(self._beside)

    def _beside(self, index: int) -> list[int]:
        """The beds met next before one of them and next after it."""
        either = self._walk.before(self._orders, index), self._walk.after(self._orders, index)
        return [one for one in either if one is not None]


def _odd_ones(its: _DomainBeds) -> Iterator[Odd]:
    poles = poles_of(its.beds)
    for index in _suspects(poles):
        odd = _off_rest(its, poles, index, np.delete(poles, index, axis=0))
        if odd is not None:
            yield odd


def _suspects(poles: Vectors) -> list[int]:
    """Readings that lie farthest off the mean or off the girdle of all."""
    axes = orientation(poles)[1]
    return sorted(
        {
            int(index)
            for off in (-np.abs(along(poles, axes[0])), np.abs(along(poles, axes[2])))
            for index in np.argsort(-off, kind="stable")[:_MOST]
        }
    )


def _off_rest(its: _DomainBeds, poles: Vectors, index: int, rest: Vectors) -> Odd | None:
    found = axis_or_lack(rest)
    # Even of a cone the best girdle tells what is far off it.
    if isinstance(found, FoldAxis) or found.why is NoGirdle.CONICAL:
        return _off_girdle(its, poles, index, rest)
    return _off_panel(its, poles, index, rest)


def _odd_pair(its: _DomainBeds) -> tuple[Odd, ...]:
    """The one pair without which the rest has one structure, which a slip brings each of the two back to; else nothing.

    Two that lie alike bear each other out: they are beds of another limb.
    """
    beds, poles = its.beds, poles_of(its.beds)
    pairs = []
    for first, second in combinations(_suspects(poles), 2):
        if pole_angle(poles[first], poles[second]) <= ALIKE_DEG:
            continue
        rest = np.delete(poles, (first, second), axis=0)
        found = axis_or_lack(rest, sd_deg=max(bed.sd_deg for bed in beds))
        if isinstance(found, NoAxis) and found.why is not NoGirdle.ALIKE:
            continue
        if (one := _off_rest(its, poles, first, rest)) is None:
            continue
        if (other := _off_rest(its, poles, second, rest)) is not None:
            pairs.append((one._replace(other=other.bed), other._replace(other=one.bed)))
    return pairs[0] if len(pairs) == 1 else ()


def _off_girdle(its: _DomainBeds, poles: Vectors, index: int, rest: Vectors) -> Odd | None:
    beds, beside = its.beds, poles[its.beside(index)]
    axis = orientation(rest)[1][2]
    spread = math.degrees(math.asin(min(1.0, math.sqrt(float(np.mean(along(rest, axis) ** 2))))))
    sd = max(spread * math.sqrt(len(rest) / (len(rest) - 2)), beds[index].sd_deg)

    def off(one: Vectors) -> float:
        return settled(math.degrees(math.asin(min(1.0, abs(float(one @ axis))))))

    fits = []
    for slip in slips(beds[index]):
        chi = (off(poles[index]) ** 2 - off(slip.pole) ** 2) / sd**2
        fitting = chi > SLIP_CHI_SQUARE and off(slip.pole) <= SURE_SD * sd and _one_limb(beside, slip.pole)
        if fitting and not its.turns_over(beds[index], slip):
            fits.append((-chi, slip))
    if not fits:
        return None
    slip = min(fits, key=lambda one: one[0])[1]
    turning = _at_a_turn(beside) and float(off_circle_deg(poles)[index]) <= SURE_SD * sd
    return Odd(beds[index], off(poles[index]), True, slip, turning=turning)


def _at_a_turn(beside: Vectors) -> bool:
    """Whether the beds next to one lie as those of two limbs do.

    Two limbs don't tell how beds lie where one turns into the other.
    """
    return len(beside) > 1 and pole_angle(beside[0], beside[1]) > ALIKE_DEG


def _off_panel(its: _DomainBeds, poles: Vectors, index: int, rest: Vectors) -> Odd | None:
    beds = its.beds
    mean = principal_axis(rest)[0]
    known = {beds[at].upside_down for at in its.beside(index)} - {None}
    own = beds[index].upside_down
    if own is not None and known == {not own}:
        # By its way-up it is of another limb, whatever was written.
        return None
    apart_deg = pole_angles(rest, mean).tolist()
    sd = math.sqrt(math.fsum(one**2 for one in apart_deg) / (2 * (len(rest) - 1)))
    if sd > PANEL_DEG:
        return None
    sd = max(sd, beds[index].sd_deg)
    here = pole_angle(poles[index], mean)
    fits = []
    for slip in slips(beds[index]):
        then = pole_angle(slip.pole, mean)
        chi = (here**2 - then**2) / sd**2
        fitting = chi > SLIP_CHI_SQUARE and then <= SURE_POLE_SD * sd
        if fitting and not its.turns_over(beds[index], slip):
            fits.append((-chi, slip))
    return Odd(beds[index], here, False, min(fits, key=lambda one: one[0])[1]) if fits else None


def _one_limb(beside: Vectors, one: Vectors) -> bool:
    """Whether a bed next to it lies on the same limb."""
    return any(pole_angle(one, other) <= LIMB_DEG for other in beside)


def odd_contacts(
    near: Neighbours, contacts: Sequence[PlacedContact], bodies: Collection[str | None] = ()
) -> Iterator[OddContact]:
    """Contacts whose attitude a slip explains clearly better than it fits the bed before and the bed after, which agree.

    Where a fault or no bed lies on one side, the beds of the day stand in, if all of them lie alike. Between two limbs a half
    turn to the bed on one side is told, of a contact off both, unless with a unit that may be one of `bodies`. None of a fault,
    or of an unconformity, which may lie any way.
    """
    alike = _all_alike(near.poles)
    for contact in contacts:
        own, booked = contact_pole(contact), contact.booked.plane
        if (
            contact.kind is not ContactKind.CONTACT
            or own is None
            or booked is None
            or contact.dip_deg is None
        ):
            continue
        if contact.strike_deg is None:
            continue
        beside = near.beside(contact.order)
        if len(beside) == 1 and alike:
            beside = sorted(np.argsort(np.abs(near.at - contact.order), kind="stable")[:_MOST_NAMED].tolist())
            poles = near.poles
        else:
            poles = near.poles[beside]
            if len(beside) < 2:
                continue
            if pole_angle(poles[0], poles[1]) > ALIKE_DEG:
                if not {contact.younger, contact.older} & set(bodies):
                    yield from _off_both_limbs(near, contact, beside)
                continue
        mean = principal_axis(poles)[0]
        read = ContactRead(
            booked.written, False, contact.dip_deg, wrap_360(contact.strike_deg + 90.0), own[1]
        )
        slip = odd_between(read, mean, poles)
        if slip is not None:
            beds = tuple(near.beds[one] for one in beside)
            yield OddContact(contact, booked.written, pole_angle(own[0], mean), beds, slip)


def _off_both_limbs(near: Neighbours, contact: PlacedContact, beside: Sequence[int]) -> Iterator[OddContact]:
    """A contact between two limbs that lies as neither, where half turned it lies as the bed on one of its sides."""
    own, booked = contact_pole(contact), contact.booked.plane
    assert own is not None
    assert booked is not None
    assert contact.dip_deg is not None
    assert contact.strike_deg is not None
    off = min(pole_angle(own[0], one) for one in near.poles[beside])
    read = ContactRead(booked.written, False, contact.dip_deg, wrap_360(contact.strike_deg + 90.0), own[1])
    half = [one for one in slips(read) if one.words == HALF_TURN] if off > ODD_BED_DEG else []
    for slip in half:
        nearest = min(beside, key=lambda one: pole_angle(near.poles[one], slip.pole))
        if pole_angle(near.poles[nearest], slip.pole) <= FORESET_DEG:
            beds = tuple(near.beds[one] for one in beside)
            yield OddContact(contact, booked.written, off, beds, slip, agree=False)


def _all_alike(poles: Vectors) -> bool:
    """Whether the beds of a day, enough of them, lie in one attitude."""
    if len(poles) < _LEAST_ALIKE:
        return False
    mean = principal_axis(poles)[0]
    return float(pole_angles(poles, mean).max()) <= ALIKE_DEG / 2.0


def odd_between(bed: WrittenPlane, normal: Vectors, rest: Vectors) -> WrittenSlip | None:
    """The slip that explains a bed between two that agree clearly better than it stands, within their scatter and its own.

    `normal` is their mean. None where none does, nor of a bed that agrees with it.
    """
    spread = max(pole_angle(one, normal) for one in rest)
    sd = max(spread, bed.sd_deg, POLE_SD_DEG)
    here = pole_angle(pole(bed.dip_deg, dip_direction_deg=bed.dip_direction_deg), normal)
    if here <= FORESET_DEG:
        return None
    slip = fitting_slip(bed, normal, within_deg=SURE_POLE_SD * sd)
    # What lies nearer is asked about where figures exchanged lead right to what the others agree on, and not for any slip.
    if slip is None or (here <= ALIKE_DEG and slip.words not in {EXCHANGED, _STRIKE_AND_DIP}):
        return None
    if (here**2 - pole_angle(slip.pole, normal) ** 2) / sd**2 <= SLIP_CHI_SQUARE:
        return None
    return slip


def fitting_slip(bed: WrittenPlane, normal: Vectors, *, within_deg: float) -> WrittenSlip | None:
    """The slip that leads nearest to a plane, no farther off than `within_deg`; None where none does."""
    return next(iter(fitting_slips(bed, normal, within_deg=within_deg)), None)


def fitting_slips(bed: WrittenPlane, normal: Vectors, *, within_deg: float) -> list[WrittenSlip]:
    """All slips that lead so near to a plane, the nearest first; of those that lead to one reading figures exchanged last."""
    off = [(settled(pole_angle(slip.pole, normal), 6), slip) for slip in slips(bed)]
    fitting = [one for one in off if one[0] <= within_deg]
    return [slip for _, slip in sorted(fitting, key=lambda one: (one[0], one[1].words == EXCHANGED))]


def half_turn_by_contact(
    bed: PlaneAttitude, contacts: Sequence[PlacedContact]
) -> tuple[WrittenSlip, PlacedContact] | None:
    """The half turn of a bed that lies as a contact beside it was read, and as it stands lies otherwise; None without one."""
    half = next((one for one in slips(bed) if one.words == HALF_TURN), None)
    own = pole(bed.dip_deg, dip_direction_deg=bed.dip_direction_deg)
    for contact in contacts if half is not None else ():
        read = contact_pole(contact)
        if contact.kind is not ContactKind.CONTACT or read is None or half is None:
            continue
        if pole_angle(half.pole, read[0]) <= FORESET_DEG < pole_angle(own, read[0]):
            return half, contact
    return None


def _turned(part: str, turn_deg: float) -> str | None:
    """One reading as the page would have it, turned by a quarter or a half; None where it is not a plane by two figures."""
    figures = part.split(maxsplit=1)[0] if part else ""
    for form in (_AZIMUTH_FIRST, _DIP_FIRST):
        if found := form.fullmatch(figures):
            turned = f"{round(wrap_360(float(found['azimuth']) + turn_deg)) % 360:03d}"
            pair = (turned, found["dip"]) if form is _AZIMUTH_FIRST else (found["dip"], turned)
            return found["between"].join(pair)
    lettered = _LETTERED.fullmatch(part) or _LETTERED.fullmatch(figures)
    if lettered is None:
        return None
    strike = lettered["strike"]
    if turn_deg != 180.0:
        if quadrant := _QUADRANT.fullmatch(strike):
            side = "W" if quadrant["side"].upper() == "E" else "E"
            strike = f"{quadrant['pole'].upper()}{90 - int(quadrant['angle'])}{side}"
        else:
            strike = f"{round(wrap_360(float(strike) + turn_deg)) % 360:03d}"
    letter = _LETTERS[(_LETTERS.index(lettered["letter"].upper()) + round(turn_deg / 45.0)) % len(_LETTERS)]
    return f"{strike}{lettered['dip']}{letter}"


def _other_quadrant(bed: WrittenPlane, part: str) -> Iterator[WrittenSlip]:
    """East for west in a strike by quadrant; the dip keeps its letter."""
    lettered = _LETTERED.fullmatch(part) or _LETTERED.fullmatch(part.split(maxsplit=1)[0] if part else "")
    quadrant = None if lettered is None else _QUADRANT.fullmatch(lettered["strike"])
    if lettered is None or quadrant is None or int(quadrant["angle"]) in {0, 90}:
        return
    east = quadrant["side"].upper() == "E"
    angle = float(quadrant["angle"]) * (1.0 if east == (quadrant["pole"].upper() == "N") else -1.0)
    strike = f"{quadrant['pole'].upper()}{quadrant['angle']}{'W' if east else 'E'}"
    words = "east for west" if east else "west for east"
    yield from _other_strike(bed, lettered, (angle, -angle), strike, words)


def _exchanged_strike(bed: WrittenPlane, part: str) -> Iterator[WrittenSlip]:
    """Figures of a strike exchanged where a letter says the dip, which keeps it."""
    lettered = _LETTERED.fullmatch(part) or _LETTERED.fullmatch(part.split(maxsplit=1)[0] if part else "")
    if lettered is None:
        return
    quadrant = _QUADRANT.fullmatch(lettered["strike"])
    figures = lettered["strike"] if quadrant is None else quadrant["angle"]
    sign, most = 1.0, 360
    if quadrant is not None:
        sign, most = (
            (1.0 if (quadrant["side"].upper() == "E") == (quadrant["pole"].upper() == "N") else -1.0),
            90,
        )
    for one, next_one in combinations(range(len(figures)), 2):
        digits = list(figures)
        digits[one], digits[next_one] = digits[next_one], digits[one]
        other = "".join(digits)
        if other != figures and int(other) <= most:
            strike = (
                other if quadrant is None else f"{quadrant['pole'].upper()}{other}{quadrant['side'].upper()}"
            )
            pair = (sign * float(figures), sign * float(other))
            yield from _other_strike(bed, lettered, pair, strike, EXCHANGED)


def _exchanged_strike_and_dip(bed: WrittenPlane, part: str) -> Iterator[WrittenSlip]:
    """The figures of strike and dip each in the place of the other, where the strike has two of them."""
    figures = part.split(maxsplit=1)[0] if part else ""
    if (plain := _AZIMUTH_FIRST.fullmatch(figures)) and plain["azimuth"][0] == "0":
        azimuth, dip = plain["azimuth"], plain["dip"]
        turned = wrap_360(settled(bed.dip_direction_deg + float(dip) - float(azimuth)))
        if azimuth[1:] != dip and int(azimuth) <= 90 and len(dip) == 2:
            yield WrittenSlip(
                _STRIKE_AND_DIP, float(azimuth), turned, f"0{dip}{plain['between']}{azimuth[1:]}"
            )
    lettered = _LETTERED.fullmatch(part) or _LETTERED.fullmatch(figures)
    quadrant = None if lettered is None else _QUADRANT.fullmatch(lettered["strike"])
    if lettered is None or quadrant is None:
        return
    angle, dip = quadrant["angle"], lettered["dip"].strip(" /\t")
    if angle == dip or int(angle) > 90:
        return
    sign = 1.0 if (quadrant["side"].upper() == "E") == (quadrant["pole"].upper() == "N") else -1.0
    strike = f"{quadrant['pole'].upper()}{dip}{quadrant['side'].upper()}"
    for other in _other_strike(
        bed, lettered, (sign * float(angle), sign * float(dip)), strike, _STRIKE_AND_DIP
    ):
        reading = f"{strike}/{angle}{lettered['letter']}"
        yield WrittenSlip(_STRIKE_AND_DIP, float(angle), other.dip_direction_deg, reading)


def _other_strike(
    bed: WrittenPlane, lettered: re.Match[str], pair_deg: tuple[float, float], strike: str, words: str
) -> Iterator[WrittenSlip]:
    """A plane with another strike than it was written with, of the `pair_deg` the second."""
    toward = 45.0 * _LETTERS.index(lettered["letter"].upper())
    # As written it dips to the side of its strike that the letter is nearer to; so it does with the other strike.
    was, new = (
        min((one + 90.0, one - 90.0), key=lambda side: abs(wrap_180(side - toward))) for one in pair_deg
    )
    # A letter along the strike is refused where it is typed.
    if abs(wrap_180(new - toward)) <= LETTER_REFUSED_DEG:
        way = wrap_360(settled(bed.dip_direction_deg + new - was))
        yield WrittenSlip(words, bed.dip_deg, way, f"{strike}{lettered['dip']}{lettered['letter']}")


def slips(bed: WrittenPlane) -> Iterator[WrittenSlip]:
    """What may have been read: strike for dip direction, the other side, exchanged digits, a scale that counts from upright.

    Common practice, no source.
    """
    if bed.flat:
        return
    parts = [part.strip() for part in bed.written.split(",")]
    first = parts[0].split(maxsplit=1)[0] if parts[0] else ""
    written = (_AZIMUTH_FIRST.fullmatch(first) or _DIP_FIRST.fullmatch(first)) if len(parts) == 1 else None

    def typed(azimuth: str, dip: str) -> str:
        """As the page has it, with other figures."""
        assert written is not None
        pair = (azimuth, dip) if written.re is _AZIMUTH_FIRST else (dip, azimuth)
        return written["between"].join(pair)

    for turn, words in _TURNS.items():
        readings = [_turned(part, turn) for part in parts]
        if None not in readings:
            way = wrap_360(settled(bed.dip_direction_deg + turn))
            yield WrittenSlip(words, bed.dip_deg, way, ", ".join(one for one in readings if one))
    if len(parts) > 1:
        return
    yield from _exchanged_strike_and_dip(bed, parts[0])
    yield from _other_quadrant(bed, parts[0])
    yield from _exchanged_strike(bed, parts[0])
    by_letter = _DIP_BEFORE_LETTER.fullmatch(first)
    dip = written["dip"] if written else by_letter["dip"] if by_letter else ""
    if dip:
        dips = {dip[::-1]: EXCHANGED, f"{90 - int(dip):02d}": "dip counted from upright"}
        if len(dip) == 1:
            dips |= {dip + digit: _FIGURE_LOST for digit in "0123456789"}
            dips |= {digit + dip: _FIGURE_LOST for digit in "12345678"}
        for other_dip, words in dips.items():
            if other_dip == dip or int(other_dip) > 90:
                continue
            reading = (
                typed(written["azimuth"], other_dip)
                if written
                else f"{by_letter['before']}{other_dip}{by_letter['after']}"
                if by_letter
                else ""
            )
            yield WrittenSlip(words, float(other_dip), bed.dip_direction_deg, reading)
    if written is None:
        return
    azimuth = written["azimuth"]
    for one, next_one in ((0, 1), (1, 2), (0, 2)):
        digits = list(azimuth)
        digits[one], digits[next_one] = digits[next_one], digits[one]
        other = "".join(digits)
        if other != azimuth and int(other) <= 360:
            way = wrap_360(settled(bed.dip_direction_deg + float(other) - float(azimuth)))
            yield WrittenSlip(EXCHANGED, bed.dip_deg, way, typed(other, dip))
    for first in "0123":
        other = first + azimuth[1:]
        if other != azimuth and int(other) < 360:
            way = wrap_360(settled(bed.dip_direction_deg + float(other) - float(azimuth)))
            yield WrittenSlip("first figure misread", bed.dip_deg, way, typed(other, dip))
