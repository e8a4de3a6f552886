"""All that a log says of the ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from traverse.log.records import Log
from traverse.record import record
from traverse.source import Span
from traverse.structure.form.records import ContactPlane, Fold, Told
from traverse.structure.readings.records import (
    Attitude,
    FoldAxis,
    JointOutcrop,
    JointPlace,
    MeanBedding,
    NoAxis,
    Placed,
    PlacedContact,
    PlaneAttitude,
    PoleDensity,
    Restored,
    Rose,
    bedding,
    distinct,
    each_once,
)
from traverse.structure.section.records import Relief, Section
from traverse.structure.thickness.records import ColumnUnit, LeastThickness, Thickness, UnitThickness
from traverse.structure.walk.open_parties import settled_lines, settled_stretches, without_outvoted
from traverse.structure.walk.records import BandStretch, Body, ContactLine, StationUnit, UnbookedChange


@record(frozen=True, slots=True, kw_only=True)
class Geology:
    """All that was seen, placed, and what follows from it."""

    attitudes: tuple[Attitude, ...]
    contacts: tuple[PlacedContact, ...]
    contact_lines: tuple[ContactLine, ...] = ()
    """Contacts beside the walk and followed along it, as lines."""
    things: tuple[Placed, ...]
    """In the order of the log."""
    band: tuple[BandStretch, ...]
    unbooked: tuple[UnbookedChange, ...] = ()
    """Where the walk comes into another unit and no contact was booked, in walking order."""
    bodies: tuple[Body, ...] = ()
    """Intrusive bodies where they were crossed, in walking order."""
    station_units: tuple[StationUnit, ...] = ()
    """Of each station whose unit is known."""
    thicknesses: tuple[Thickness, ...]
    bedding_mean: MeanBedding | None
    """Of the body with most beds; so is the axis."""
    fold_axis: FoldAxis | None
    planes: tuple[ContactPlane, ...]
    sections: Sequence[Section]
    """Constructed when first looked at, as are their reliefs."""
    across_beds: Sequence[Section] = ()
    """Where the log asks for sections, the one that would be drawn if it asked for none: no fold hangs on what is asked for."""
    findings: tuple[Told, ...] = ()
    """What can be said of the structure."""
    restored: tuple[Restored, ...] = ()
    """Cross-beds and currents where the bedding is tilted, with it laid flat, in the order of the log."""
    caps: frozenset[str] = frozenset()
    """Units that lie over the others: loose ground, or above an unconformity."""
    no_axis: NoAxis | None = None
    """What the beds lack where they have no axis; None without beds."""
    least: tuple[LeastThickness, ...] = ()
    """Units that were entered and not left, in walking order."""
    unit_thicknesses: tuple[UnitThickness, ...] = ()
    """In the order of the units."""
    reliefs: Sequence[Relief] = ()
    """Horizons that turn on a section, by section and in the order of its lines."""
    rose: Rose | None = None
    """None where no direction of flow was read."""
    column: tuple[ColumnUnit, ...] = ()
    """Units that were met, youngest first."""
    shared: tuple[JointOutcrop, ...] = ()
    """Outcrops that several parties measured."""
    doubted: frozenset[Span] = frozenset()
    """Attitudes that nothing is told by: of a party of several whose rule for them is asked about, and what lies out of
    what others read alike at the same outcrop."""
    doubted_rules: frozenset[str] = frozenset()
    """Files of parties, of several, whose rule for attitudes is asked about."""
    open_parties: frozenset[str] = frozenset()
    """Files of parties whose own loop was left open beside others': what they crossed is seen ground nobody knows where."""
    shared_places: tuple[JointPlace, ...] = ()
    """Places that parties put in different units."""
    density: PoleDensity | None = None
    """Of the beds, where there are enough; worked out for commands that draw the net only."""

    def settled(self, log: Log) -> Geology:
        """Without ground, contacts and bodies of the `open_parties`: nobody knows where they lie.

        And without ground of a unit that one party booked against others who walked there.
        """
        loose = self.open_parties
        band = without_outvoted(log, self.band, self.shared_places)
        if not loose:
            return self if band is self.band else replace(self, band=band)
        return replace(
            self,
            band=settled_stretches(log, band, loose),
            contacts=tuple(one for one in self.contacts if one.booked.span.file not in loose),
            contact_lines=settled_lines(self.contact_lines, loose),
            unbooked=tuple(one for one in self.unbooked if log.legs[one.leg].span.file not in loose),
            bodies=tuple(
                one
                for one in self.bodies
                if len(settled_stretches(log, one.stretches, loose)) == len(one.stretches)
            ),
        )

    @property
    def recognised(self) -> tuple[Told, ...]:
        """The findings that state a form."""
        return tuple(one for one in self.findings if one.finding.form is not None)

    @property
    def the_fold(self) -> Fold | None:
        """The one fold that the beds were recognised as; None of none or of several, whose surfaces would be mixed up."""
        forms = [one.finding.form for one in self.recognised]
        folds = [form.fold for form in forms if form is not None and form.fold is not None]
        return folds[0] if len(folds) == 1 else None

    @property
    def beds(self) -> tuple[PlaneAttitude, ...]:
        """Readings of bedding."""
        return bedding(self.attitudes)

    @property
    def distinct_beds(self) -> tuple[PlaneAttitude, ...]:
        """The same without those logged twice, which count once in whatever is told of them together."""
        return distinct(bedding(self.each_once))

    @property
    def each_once(self) -> tuple[Attitude, ...]:
        """The attitudes with one mean for each outcrop at which parties agree."""
        return each_once(self.attitudes, self.shared)

    @property
    def told_mean(self) -> MeanBedding | None:
        """The mean of the beds where it stands for all of them; None of beds that lie too many ways, and of folded ones."""
        mean = self.bedding_mean
        return mean if self.fold_axis is None and mean is not None and mean.stands_for_all else None
