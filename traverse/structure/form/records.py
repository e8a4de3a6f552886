"""Planes through contacts, folds, and what can be said of the structure."""

from __future__ import annotations

from enum import Enum
from typing import TypeAlias

from traverse.record import record
from traverse.source import Span
from traverse.structure.readings.records import (
    FoldAxis,
    LineAttitude,
    MeanBedding,
    NoAxis,
    PlacedContact,
    PlaneAttitude,
)
from traverse.structure.walk.records import UnsaidBody


@record(frozen=True, slots=True, kw_only=True)
class ContactPlane:
    """Plane through the contacts of one pair of units at three places or more."""

    younger: str
    older: str
    strike_deg: float | None
    """True and right-handed; None with all that follows where the places lie on one line."""
    dip_deg: float | None
    sd_strike_deg: float | None
    """None too where the strike may be any, as the plane may be level within three standard errors."""
    sd_dip_deg: float | None
    sd_pole_deg: float | None
    """Of its pole in any one direction."""
    chi_square: float
    """Of the places off the plane, each by its own error."""
    freedom: int
    """How many places are to spare."""
    fits: bool
    """Whether they keep to it; that of three places is not tested."""
    lines: tuple[Span, ...]
    """Of its places; one that keeps off the plane of the others is not among them."""
    carried: bool = False
    """Whether it stands for the contact at these places on section and map: it fits, it is sure, and the beds beside agree."""
    told_elsewhere: bool = False
    """Of places on one line: whether its attitude was read at one of them, or beds about them tell it, whose plane holds them."""


@record(frozen=True, slots=True, kw_only=True)
class Limb:
    """The mean of the beds on one side of a fold."""

    dip_deg: float
    dip_direction_deg: float | None
    overturned: bool
    n: int


@record(frozen=True, slots=True, kw_only=True)
class Fold:
    """A fold by its two limbs."""

    limbs: tuple[Limb, Limb]
    interlimb_deg: float
    """Between the means of the limbs, each of its outer part that lies as one plane."""
    sd_deg: float | None
    """Of that angle; None where a limb goes on turning, so that it has no one plane to tell it by."""
    axial_dip_deg: float | None
    """Of the axial surface, which halves the angle between the limbs; None where its beds turn about no one line."""
    axial_dip_direction_deg: float | None
    sd_axial_deg: float | None
    """Of that surface's pole, in any one direction; None with `sd_deg`."""


class FormKind(Enum):
    """What beds make: a word of age where the order of units or way-up tells it, else one of shape alone."""

    SYNCLINE = "syncline"
    ANTICLINE = "anticline"
    SYNFORM = "synform"
    ANTIFORM = "antiform"
    MONOCLINE = "monocline"
    DOME = "dome"
    BASIN = "basin"

    @property
    def hollow(self) -> bool:
        """Whether its limbs dip toward each other, upright."""
        return self in {FormKind.SYNCLINE, FormKind.SYNFORM, FormKind.BASIN}


@record(frozen=True, slots=True, kw_only=True)
class StructuralForm:
    """A form that the beds were recognised as, not one that is only weighed."""

    kind: FormKind
    overturned: bool = False
    """Whether one of its limbs is."""
    fold: Fold | None = None
    """None where it has no two limbs."""

    @property
    def name(self) -> str:
        """`overturned syncline`, `monocline`."""
        return f"{'overturned ' if self.overturned else ''}{self.kind.value}"


# --- what can be said, one record for each kind of sentence


class Level(Enum):
    """How sure a finding is."""

    OBSERVED = "observed"
    """It was read, and is told again."""
    FOLLOWS = "follows"
    """The readings leave nothing else that is as likely."""
    POSSIBLE = "possible"
    """Something else is not excluded: it is asked, with the place that decides."""


class Other(Enum):
    """What a finding does not exclude."""

    FOLD = "a fold"
    SMALL_FOLD = "a small fold"
    TWO_FOLDS = "two folds"
    FAULT = "a fault that is not logged"
    DRAG = "beds turned by a fault"
    DOME = "a dome"
    BASIN = "a basin"
    FLAT_FAULT = "a flat fault"
    IN_LINE = "several faults in line with each other"
    BODY = "an intrusive body that the list of units does not call so"
    GROUND = "the ground, whose heights were not measured"
    READING = "a reading to look at again"
    UPSIDE_DOWN = "beds upside down"
    LIST = "the list of units the wrong way about"


CLOSED = frozenset({Other.DOME, Other.BASIN})
"""What an open fold on one line across it may be."""


@record(frozen=True, slots=True, kw_only=True)
class Founded:
    """What every finding rests on."""

    readings: tuple[PlaneAttitude, ...] = ()
    contacts: tuple[PlacedContact, ...] = ()
    named: tuple[PlaneAttitude, ...] = ()
    """Those of its readings that the sentence names, where not all."""
    level: Level = Level.OBSERVED
    others: tuple[Other, ...] = ()
    """What is not excluded."""
    decides: str | None = None
    """Where to look to decide it, in words."""
    form: StructuralForm | None = None
    """The form that follows; None where one is only weighed, or none is stated."""
    twice: tuple[PlaneAttitude, ...] = ()
    """Beds that are alone on their side, and count as they were read twice there."""

    @property
    def closed(self) -> Other | None:
        """The dome or basin that is not excluded."""
        return next((other for other in self.others if other in CLOSED), None)

    @property
    def form_name(self) -> str | None:
        """`overturned syncline`, `anticline or dome`; None where no form follows."""
        if self.form is None or self.closed is None:
            return None if self.form is None else self.form.name
        return f"{self.form.name} or {self.closed.value.removeprefix('a ')}"


@record(frozen=True, slots=True, kw_only=True)
class AxisFound(Founded):
    """The beds turn about a line."""

    axis: FoldAxis


@record(frozen=True, slots=True, kw_only=True)
class AxisOpen(Founded):
    """The readings make no axis."""

    lacks: NoAxis


@record(frozen=True, slots=True, kw_only=True)
class BedsDip(Founded):
    """How much the beds dip, and whether one way."""

    toward_deg: float | None
    """Mean dip direction; None where they dip in more than one, and where they lie flat."""
    flat: bool = False
    standing_deg: float | None = None
    """Mean strike of beds that are all upright within their errors, 0 to 180, true; None of others."""
    sided: tuple[PlaneAttitude, ...] = ()
    """Those that go down to a side, where they all go down toward one: neither level nor upright."""
    level_beds: tuple[PlaneAttitude, ...] = ()
    """Those of the others that lie level, or so nearly that their side says nothing."""
    upright_ones: int = 0
    """How many of the others stand upright."""
    steep_ones: bool = False
    """Only those that are not gentle go down toward it."""


@record(frozen=True, slots=True, kw_only=True)
class BedsOverturned(Founded):
    """Beds that are overturned, where nothing else tells of them."""


@record(frozen=True, slots=True, kw_only=True)
class OneSurface(Founded):
    """Gentle beds that agree with their mean."""

    mean: MeanBedding
    off_deg: float
    """The farthest of them from it."""


@record(frozen=True, slots=True, kw_only=True)
class OnOneLine(Founded):
    """A contact met often enough for a plane, at places on one line, of which nothing else tells how it lies."""

    plane: ContactPlane


@record(frozen=True, slots=True, kw_only=True)
class OneFault(Founded):
    """Places of a fault that lie in one plane: taken for one."""

    read: tuple[PlacedContact, ...]
    """Those at which a plane was read."""
    beyond_reach: bool = False
    """Whether two that follow each other along it lie too far apart for the map to join them."""


class NoSeparation(Enum):
    """Why no separation of a fault is told."""

    NO_DIP = "its dip was not measured"
    LEVEL = "it lies level or nearly so"
    ONE_SIDE = "no contact met on both sides"
    NO_BED = "no bed measured on one of its sides"
    BEDS_DIFFER = "the beds on its sides differ"
    BOTH_WAYS = "the beds on its sides young opposite ways"
    ALONG_BEDS = "it runs along the beds, or nearly so"
    TOO_FAR = "the contact met on both sides lies too far off"
    OTHER_FAULT = "another fault lies between"
    WAY_ROUND = "the walk leads round it, by what was booked"
    CONTACTS_DIFFER = "two contacts come apart by different figures"


@record(frozen=True, slots=True, kw_only=True)
class Separation:
    """How far one contact is apart across a fault, measured down the fault's dip: no slip, whose direction nobody knows."""

    younger: str
    older: str
    dip_m: float
    """Along the fault."""
    sd_m: float
    vertical_m: float
    """What of it is vertical."""
    vertical_sd_m: float
    up_deg: float | None
    """True azimuth toward the side that is up; None where the separation is no larger than two of its errors."""
    normal: bool | None
    """Whether the side over the fault is down; None where that is not known, or its own dip was not measured."""


@record(frozen=True, slots=True, kw_only=True)
class FaultSeen(Founded):
    """A fault that the walk crossed, and how far the beds on its two sides are apart, where they tell."""

    faults: tuple[PlacedContact, ...]
    """Its places, in the order of the log."""
    dip_deg: float | None
    """The mean of what was read at its places, else of the plane through them; None where neither is known."""
    dip_direction_deg: float | None
    """True."""
    through: int = 0
    """How many places the plane goes through that tells its dip; 0 where that was read."""
    striations: tuple[LineAttitude, ...] = ()
    separation: Separation | None = None
    lacks: NoSeparation | None = None
    """Why there is none."""
    differ_deg: float | None = None
    """Of beds that differ: by how much."""


@record(frozen=True, slots=True, kw_only=True)
class Discordance(Founded):
    """Beds of two units that meet lie apart."""

    younger: str
    older: str
    logged: bool
    """As an unconformity; else as a plain contact."""
    upper_dip_deg: float
    lower_dip_deg: float
    lower_direction_deg: float | None
    apart_deg: float
    elsewhere: bool = False
    """Whether the two met at other places too, where the beds below are of another limb: told of this place alone."""


@record(frozen=True, slots=True, kw_only=True)
class OpenDiscordance(Founded):
    """An unconformity of which the beds on one side were not measured, or lie nearly as those on the other."""

    younger: str
    older: str
    lacking: str | None
    """The unit without a bed; None where both have one."""
    differ_deg: float | None = None
    """How far the beds nearest to it on its two sides lie apart at most, where both have one."""
    elsewhere: bool = False
    """Whether beds of that unit were measured, but of another limb than the one beside it."""


@record(frozen=True, slots=True, kw_only=True)
class BelowAlone(Founded):
    """An intrusive unit that was met in beds below an unconformity and nowhere in those above it, which were walked too."""

    unit: str
    hosts: tuple[str, ...]
    """What it was met in."""
    over: tuple[str, ...]
    """What was walked of the beds above."""


class Runs(Enum):
    """How a fault runs by the strike of the beds that it cuts."""

    ALONG = "along the strike"
    ACROSS = "across the strike"
    OPEN = "askew, or not known"


@record(frozen=True, slots=True, kw_only=True)
class UnitsRepeat(Founded):
    """Two units that come again in the same order."""

    units: tuple[str, str]
    faults: tuple[PlacedContact, ...] = ()
    """Those of its contacts that are logged faults between the two."""
    runs: Runs = Runs.OPEN
    """How all these faults run: one along the beds repeats them, one across offsets them, and of another nothing is told."""
    beds_strike_deg: float | None = None
    """Mean strike of its readings, 0 to 180, true; None where it is not known."""
    fault_strike_deg: float | None = None
    """Of the faults, the same."""


@record(frozen=True, slots=True, kw_only=True)
class LaidBare(Founded):
    """A unit that comes again because of the ground alone."""

    unit: str
    within: str
    younger: bool
    """An outlier on high ground; else an inlier in low ground."""


class Mirror(Enum):
    """What units in mirrored order make, by the beds beside them."""

    BODY = "the unit between lies as an intrusive body does"
    ONE_SIDE = "beds measured on one side alone"
    LEVEL_SIDE = "beds of one side lie level"
    ONE_SLOPE = "beds of one side lie level, and none dips the other way"
    UPRIGHT = "beds of one side stand upright, their way-up not known"
    FEW = "one bed alone on one side"
    FOLD = "beds dip apart or together as the order of units has it"
    PART_OVERTURNED = "beds dip apart or together, some of them overturned"
    REVERSED = "beds dip against the order of units"
    WAY_UP_WANTED = "beds dip one way, their way-up not known"
    YOUNG_ONE_WAY = "beds dip one way and young one way"
    ALL_OVERTURNED = "beds dip one way, overturned on both sides"
    CONTRADICTED = "way-up against the order of units"
    OVERTURNED_LIMB = "beds dip one way, overturned on one side"


@record(frozen=True, slots=True, kw_only=True)
class UnitsMirrored(Founded):
    """Units that come back in mirrored order.

    It names the overturned beds, or where way-up is wanted, the nearest to the core first.
    """

    order: tuple[str, ...]
    """As they are met."""
    says: Mirror
    weighed: FormKind | None = None
    """The form that the order of units or the dips would make."""
    toward_deg: float | None = None
    """The way that all beds dip, or the side that has none."""
    body: UnsaidBody | None = None
    """The unit between, where it may be an intrusive body."""
    by_the_ground: bool = False
    """Whether slopes alone could do it, for heights were not measured."""


@record(frozen=True, slots=True, kw_only=True)
class OverturnedFold(Founded):
    """A fold with one limb overturned, by the order of units and way-up."""

    side_deg: float
    """The side on which that limb lies."""


@record(frozen=True, slots=True, kw_only=True)
class LimbsThick(Founded):
    """One unit's thickness on both limbs."""

    unit: str
    thin_m: float
    thick_m: float
    alike: bool
    """Within the errors."""
    means: bool
    """Whether a limb was crossed more than once."""


@record(frozen=True, slots=True, kw_only=True)
class Against(Founded):
    """Beds that each dip against those on both sides."""


@record(frozen=True, slots=True, kw_only=True)
class TurnedBetween(Founded):
    """Overturned beds, which it names, and upright ones that dip the same way."""

    upright: tuple[PlaneAttitude, ...]


@record(frozen=True, slots=True, kw_only=True)
class OneOverturnedLimb(Founded):
    """All beds are overturned."""


@record(frozen=True, slots=True, kw_only=True)
class Flexed(Founded):
    """Flat, steep, flat: it names the first bed, the steepest and the last."""

    way_up: bool
    """Whether it was seen."""


@record(frozen=True, slots=True, kw_only=True)
class EvenDip(Founded):
    """One panel of even dip."""

    way_up: bool


@record(frozen=True, slots=True, kw_only=True)
class Steepening(Founded):
    """Beds that steepen one way: it names the gentlest and the steepest."""

    toward_deg: float
    other_way: int = 0
    """How many of them dip the other way, by no more than their errors."""


@record(frozen=True, slots=True, kw_only=True)
class ManyTurns(Founded):
    """The dip turns round too often for single folds to be told."""

    times: int


class FoldAge(Enum):
    """What tells the age of a fold, or does not."""

    ROCK = "the rock between is younger, or older, as the form has it"
    ROCK_REVERSED = "the rock between is the wrong way about"
    WAY_UP = "way-up seen on both sides"
    OPEN = "nothing"


@record(frozen=True, slots=True, kw_only=True)
class DipTurns(Founded):
    """The dip turns round between the two beds that it names."""

    weighed: FormKind
    age: FoldAge
    lone: tuple[PlaneAttitude, ...] = ()
    """Readings that are alone on their side."""
    over_fault: bool = False
    """Whether the two lie on either side of a fault."""


@record(frozen=True, slots=True, kw_only=True)
class AllRound(Founded):
    """Beds all round dip away from the middle, or toward it."""


@record(frozen=True, slots=True, kw_only=True)
class BrokenGround(Founded):
    """A loop that fails its test and is not adjusted: places on either side of its gap do not go together."""

    start: str
    off_m: float


Finding: TypeAlias = (
    AxisFound
    | AxisOpen
    | BedsDip
    | BedsOverturned
    | OneSurface
    | OnOneLine
    | OneFault
    | FaultSeen
    | Discordance
    | OpenDiscordance
    | BelowAlone
    | UnitsRepeat
    | LaidBare
    | UnitsMirrored
    | OverturnedFold
    | LimbsThick
    | Against
    | TurnedBetween
    | OneOverturnedLimb
    | Flexed
    | EvenDip
    | Steepening
    | ManyTurns
    | DipTurns
    | AllRound
    | BrokenGround
)


@record(frozen=True, slots=True, kw_only=True)
class Told:
    """A finding, the sentence made from it, and what it rests on."""

    finding: Finding
    words: str
    rests_on: str = ""
    """`4, 8, 12 and leg 14–15`; empty where the sentence names no more than was seen."""

    @property
    def claim(self) -> str:
        """What kind of finding it is, in words for other programs: `units mirrored`."""
        name = type(self.finding).__name__
        return "".join(f" {letter.lower()}" if letter.isupper() else letter for letter in name).strip()

    @property
    def whole(self) -> str:
        """Both, as the sheet prints them."""
        return f"{self.words} Rests on {self.rests_on}." if self.rests_on else self.words
