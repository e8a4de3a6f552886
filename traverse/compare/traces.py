"""How far a place lies off a contact of the key, square to its trace."""

from __future__ import annotations

import math
from collections import defaultdict

import shapely

from traverse.ground.records import Traverse
from traverse.settled import settled
from traverse.source import Span
from traverse.structure.readings.records import PlacedContact


class Traces:
    """The contacts of a key, each with the trace from it to where the key met it again."""

    def __init__(self, key: Traverse) -> None:
        lines: dict[Span, list[tuple[tuple[float, float], ...]]] = defaultdict(list)
        for join in key.ground.joins:
            for end in join.ends:
                lines[end] += [line for line in join.lines if len(line) > 1]
        self._to_true_deg = key.survey.frame.to_true_deg
        places = {name: (one.east_m, one.north_m) for name, one in key.survey.places.items()}
        ways = [(leg.booked.start, leg.booked.end) for leg in key.survey.legs]
        self._walked = shapely.MultiLineString([
            (places[one], places[other]) for one, other in ways if one in places and other in places
        ])  # fmt: skip
        self._of = {span: shapely.MultiLineString(found) for span, found in lines.items() if found}

    def off_m(self, contact: PlacedContact, place: tuple[float, float], runs_on_m: float = 0.0) -> float:
        """From a place in the key's grid to the contact, metres: square to its trace, where the key met it twice or more.

        Never more than to the place where it was met: the trace between two places is computed, and may be bent. So far as
        it `runs_on_m` to either side of where it was met, square to the way in which it is drawn there as well.
        """
        east, north = place[0] - contact.place.east_m, place[1] - contact.place.north_m
        off = math.hypot(east, north)
        if contact.course_deg is not None:
            course = math.radians(contact.course_deg - self._to_true_deg)
            along = east * math.sin(course) + north * math.cos(course)
            across = east * math.cos(course) - north * math.sin(course)
            off = math.hypot(across, max(0.0, abs(along) - runs_on_m)) if runs_on_m else off
        trace = self._of.get(contact.booked.span)
        return off if trace is None else min(off, settled(trace.distance(shapely.Point(place)), 6))

    def between_m(self, contact: PlacedContact, place: tuple[float, float]) -> float | None:
        """The same of a place beside a trace, between two places where the key met the contact; None where it lies beside none."""
        trace, here = self._of.get(contact.booked.span), shapely.Point(place)
        if trace is None:
            return None
        off = [
            settled(line.distance(here), 6)
            for line in trace.geoms
            if 0.0 < settled(line.project(here), 3) < settled(line.length, 3)
        ]
        return min(off, default=None)

    def beyond_walk_m(self, place: tuple[float, float]) -> float:
        """How far a place in the key's grid lies off the key's walk, metres."""
        return 0.0 if self._walked.is_empty else settled(self._walked.distance(shapely.Point(place)), 6)
