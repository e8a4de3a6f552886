"""Stations and legs as a graph: pieces, first reaching, loops and ties."""

from __future__ import annotations

from collections import deque
from collections.abc import Container, Iterator, Mapping, Sequence

import numpy as np

from traverse.adjustment.records import Circuit, Fix, Network, Step
from traverse.log.items import Leg, Sight, Tie
from traverse.log.records import Log


def build_network(log: Log, fixes: Mapping[str, Fix]) -> Network:
    """The graph of a log, its loops and its ties.

    `fixes` are the known points in the plane by name; those that the walk never reaches are left aside.
    """
    return _NetworkBuilder(log, fixes).build()


def first_reached(log: Log) -> tuple[str, ...]:
    """Every station in the order in which the log reaches it, those that only a tie names last.

    A landmark that is only looked at is none, even where it is described from afar.
    """
    known = {name for leg in log.legs for name in (leg.start, leg.end)}
    known.update(control.name for control in log.controls)
    seen_only = {item.target for item in log.items if isinstance(item, Sight)} - known
    names = dict.fromkeys(name for name in log.stations if name not in seen_only)
    for leg in log.legs:
        names.setdefault(leg.start)
        names.setdefault(leg.end)
    known.update(names)
    for tie in log.ties:
        if tie.first in known and tie.second in known:
            names.setdefault(tie.first)
            names.setdefault(tie.second)
    return tuple(names)


class _NetworkBuilder:
    """Takes legs and ties in the order of the log and sees what each of them closes."""

    def __init__(self, log: Log, fixes: Mapping[str, Fix]) -> None:
        self.log = log
        self.names = first_reached(log)
        self.index = {name: i for i, name in enumerate(self.names)}
        self.fixes = {self.index[name]: fix for name, fix in fixes.items() if name in self.index}
        count = len(self.names)
        self.ties = [tie for tie in log.ties if tie.first in self.index and tie.second in self.index]
        self.edges: list[Leg | Tie] = [*log.legs, *self.ties]
        self.start = [self.index[e.start if isinstance(e, Leg) else e.first] for e in self.edges]
        self.end = [self.index[e.end if isinstance(e, Leg) else e.second] for e in self.edges]
        self.adjacent: list[list[tuple[int, int]]] = [[] for _ in range(count)]  # neighbour, edge
        self.piece = list(range(count))  # union-find
        self.has_control = [i in self.fixes for i in range(count)]
        self.seen = [False] * count
        self.letters = {one.file: one.letters for one in log.parties if one.letters is not None}
        self.hung = {one.file for one in log.parties if one.hung}
        self.tree: list[int] = []
        self.joins: list[int] = []
        self.circuits: list[Circuit] = []

    def build(self) -> Network:
        for edge in self._in_order():
            self._take(edge)
        forest, roots, loose = self._forest()
        sd = [0.0] * len(self.log.legs) + [tie.sd_m or 0.0 for tie in self.ties]
        return Network(
            names=self.names,
            index=self.index,
            start=np.array(self.start, dtype=np.intp),
            end=np.array(self.end, dtype=np.intp),
            leg_count=len(self.log.legs),
            tie_sd_m=np.array(sd),
            forest=forest,
            roots=roots,
            joins=tuple(self.joins),
            circuits=tuple(self.circuits),
            fixes=self.fixes,
            loose=loose,
        )

    def _in_order(self) -> Iterator[int]:
        """Edges by the order of the log; a tie counts from where both its places have been reached."""
        legs = self.log.legs
        # A party that holds no other comes last: known points and all that closes over others are judged without it.
        taken = sorted(range(len(legs)), key=lambda leg: legs[leg].span.file in self.hung)
        reached: dict[
            str, int
        ] = {}  # how many legs are taken up to and including the one that first names it
        for i, leg in enumerate(taken, 1):
            reached.setdefault(legs[leg].start, i)
            reached.setdefault(legs[leg].end, i)
        after: dict[int, list[int]] = {}
        lines = [leg.span.line for leg in legs]
        # Which ties of two parties join, and which are held against them, must not hang on the order of their lines.
        for k in sorted(range(len(self.ties)), key=self._of_first_reached):
            tie = self.ties[k]
            above = int(np.searchsorted(lines, tie.span.line)) if tie.span.file == self.log.file else 0
            place = max(above, reached.get(tie.first, 0), reached.get(tie.second, 0))
            if self.log.party_of(tie.first) != self.log.party_of(tie.second):
                place = len(legs)  # what a party closes by itself is told of it alone
            after.setdefault(place, []).append(len(legs) + k)
        yield from after.get(0, ())
        for i, leg in enumerate(taken, 1):
            yield leg
            yield from after.get(i, ())

    def _of_first_reached(self, tie: int) -> tuple[bool, int, int]:
        """Where a tie of two parties stands among them: by its stations; any other by its line, before them.

        Those of a party that holds no other come last: the others are joined without it.
        """
        one, other = self.ties[tie].first, self.ties[tie].second
        if not self.log.of_two_parties(one, other):
            return False, -1, tie
        low, high = sorted((self.index[one], self.index[other]))
        return self.log.hangs(one) or self.log.hangs(other), low, high

    def _take(self, edge: int) -> None:
        start, end = self.start[edge], self.end[edge]
        if start == end:
            return
        booked = self.edges[edge]
        first_time = not self.seen[end]
        self.seen[start] = self.seen[end] = True
        a, b = self._find(start), self._find(end)
        if a == b:
            self._close(edge)
            self._connect(edge)
            return
        both = self.has_control[a] and self.has_control[b]
        self._connect(edge)
        self._union(a, b)
        if not both:
            self.tree.append(edge)
            return
        hung = isinstance(booked, Leg) and booked.span.file in self.hung
        if isinstance(booked, Leg) and first_time and end in self.fixes and not hung:
            self.tree.append(edge)
            self._tie_to_control(edge, end)
            return
        self.joins.append(edge)
        self._tie_of_pieces(edge)

    def _close(self, edge: int) -> None:
        """A loop: the path of fewest legs between the two ends, then the edge itself."""
        start, end = self.start[edge], self.end[edge]
        booked = self.edges[edge]
        if isinstance(booked, Leg) and booked.span.file in self.hung and self._close_alone(edge):
            return
        if isinstance(booked, Tie) and end < start:  # stations run along the walk
            start, end = end, start
            first, last, forward = start, end, True
        elif isinstance(booked, Tie):
            first, last, forward = start, end, False
        else:
            first, last, forward = end, start, True
        stations, steps = self._path(first, {last}) if self.ties else self._path_between(first, last)
        self._add_loop(edge, stations, (*steps, Step(edge=edge, forward=forward)))

    def _close_alone(self, edge: int) -> bool:
        """What a party that is hung closes over no leg of another: a loop, or a tie that leaves out no known point.

        The one of fewer legs; False where it closes nothing by itself.
        """
        start, end = self.start[edge], self.end[edge]
        file = self.edges[edge].span.file
        others = [
            other for other, one in enumerate(self.edges) if isinstance(one, Leg) and one.span.file != file
        ]
        without = frozenset((edge, *others))
        back, steps_back = self._path(end, {start}, without=without)
        before, steps_before = self._path(start, self.fixes.keys(), without=without)
        after, steps_after = self._path(end, self.fixes.keys(), without=without)
        closes = back[-1] == start
        known = before[-1] != after[-1] and before[-1] in self.fixes and after[-1] in self.fixes
        if not closes and not known:
            return False
        if not known or (closes and len(steps_back) <= len(steps_before) + len(steps_after)):
            self._add_loop(edge, back, (*steps_back, Step(edge=edge, forward=True)))
            return True
        back = before[::-1]
        steps = [Step(edge=step.edge, forward=not step.forward) for step in reversed(steps_before)]
        self._add_tie(edge, back + after, [*steps, Step(edge=edge, forward=True), *steps_after], last=None)
        return True

    def _add_loop(self, edge: int, stations: Sequence[int], steps: Sequence[Step]) -> None:
        booked = self.edges[edge]
        self.circuits.append(
            Circuit(
                stations=tuple(stations),
                steps=tuple(steps),
                closed=True,
                is_tie=isinstance(booked, Tie),
                maker=edge,
                last_control=None,
                span=booked.span,
                of_parties=self._of_parties(edge, steps),
            )
        )

    def _of_parties(self, edge: int, steps: Sequence[Step]) -> bool:
        """Whether it ties two parties, or closes over legs of several, as where they come to the same known points."""
        booked = self.edges[edge]
        if isinstance(booked, Tie) and self.log.of_two_parties(booked.first, booked.second):
            return True
        legs = (one for one in (self.edges[step.edge] for step in steps) if isinstance(one, Leg))
        return bool(self.letters) and len({self.letters.get(leg.span.file) for leg in legs}) > 1

    def _tie_to_control(self, edge: int, control: int) -> None:
        others = self.fixes.keys() - {control}
        stations, steps = self._path(control, others)
        stations.reverse()
        steps = [Step(edge=step.edge, forward=not step.forward) for step in reversed(steps)]
        self._add_tie(edge, stations, steps, last=self._doubtful(stations, control))

    def _tie_of_pieces(self, edge: int) -> None:
        """Two pieces with a control each: from a control of the one over this edge to one of the other.

        What a party that is hung so joins leaves out no known point.
        """
        start, end = self.start[edge], self.end[edge]
        if isinstance(self.edges[edge], Tie) and end < start:
            start, end = end, start
        forward = start == self.start[edge]
        before, steps_before = self._path(start, self.fixes.keys(), without={edge})
        after, steps_after = self._path(end, self.fixes.keys(), without={edge})
        before.reverse()
        steps = [
            *(Step(edge=step.edge, forward=not step.forward) for step in reversed(steps_before)),
            Step(edge=edge, forward=forward),
            *steps_after,
        ]
        stations = before + after
        by_name = isinstance(self.edges[edge], Tie) or self.edges[edge].span.file in self.hung
        last = None if by_name else self._doubtful(stations, max(stations[0], stations[-1]))
        self._add_tie(edge, stations, steps, last=last)

    def _doubtful(self, stations: Sequence[int], last: int) -> int | None:
        """The known point that a tie leaves out where it fails: the last reached, but none that others bear out.

        None where they bear out both: then it is the walk that is wrong.
        """
        open_to_doubt = [end for end in (stations[0], stations[-1]) if not self.fixes[end].sure]
        return last if last in open_to_doubt else next(iter(open_to_doubt), None)

    def _add_tie(self, edge: int, stations: list[int], steps: list[Step], *, last: int | None) -> None:
        self.circuits.append(
            Circuit(
                stations=tuple(stations),
                steps=tuple(steps),
                closed=False,
                is_tie=True,
                maker=edge,
                last_control=last,
                span=self.edges[edge].span,
                of_parties=self._of_parties(edge, steps),
            )
        )

    def _path(
        self, source: int, targets: Container[int], *, without: Container[int] = ()
    ) -> tuple[list[int], list[Step]]:
        """Stations and steps of the path of fewest legs to the nearest target; the first logged among equals.

        A tie by name is no leg: it costs nothing to cross.
        """
        legs = len(self.log.legs)
        came: dict[int, int] = {source: -1}
        done: set[int] = set()
        distance = {source: 0}
        queue = deque([source])
        found = source
        while queue:
            station = queue.popleft()
            if station in done:
                continue
            done.add(station)
            if station in targets:
                found = station
                break
            for neighbour, edge in self.adjacent[station]:
                if edge in without or neighbour in done:
                    continue
                length = distance[station] + (edge < legs)
                if neighbour not in distance or length < distance[neighbour]:
                    distance[neighbour], came[neighbour] = length, edge
                    if edge < legs:
                        queue.append(neighbour)
                    else:
                        queue.appendleft(neighbour)
        return self._back(source, found, came)

    def _path_between(self, source: int, target: int) -> tuple[list[int], list[Step]]:
        """The same path, searched from both ends; for networks where each edge is a leg."""
        if source == target:
            return [source], []
        near = self.adjacent
        seen: tuple[dict[int, int], dict[int, int]] = ({source: 0}, {target: 0})
        fronts = [[source], [target]]
        meeting: list[int] = []
        while not meeting:
            side = 0 if len(fronts[0]) <= len(fronts[1]) else 1
            own, other = seen[side], seen[1 - side]
            level = own[fronts[side][0]] + 1
            front = []
            for station in fronts[side]:
                for neighbour, _ in near[station]:
                    if neighbour not in own:
                        own[neighbour] = level
                        front.append(neighbour)
            fronts[side] = front
            meeting = [station for station in front if station in other]
        # Stations on any path of fewest legs; among those the search from the source alone finds the first logged.
        ahead, behind = seen
        whole = ahead[meeting[0]] + behind[meeting[0]]
        level_of = {station: ahead[station] for station in meeting}
        for levels in seen:
            front = meeting
            while front:
                front = [
                    neighbour
                    for station in front
                    for neighbour, _ in near[station]
                    if levels.get(neighbour, whole) == levels[station] - 1
                ]
                front = list(dict.fromkeys(front))
                for station in front:
                    level_of[station] = ahead[station] if levels is ahead else whole - behind[station]
        came: dict[int, int] = {source: -1}
        front = [source]
        for level in range(1, whole + 1):
            reached = []
            for station in front:
                for neighbour, edge in near[station]:
                    if neighbour not in came and level_of.get(neighbour) == level:
                        came[neighbour] = edge
                        reached.append(neighbour)
            front = reached
        return self._back(source, target, came)

    def _back(self, source: int, found: int, came: Mapping[int, int]) -> tuple[list[int], list[Step]]:
        """Stations and steps from the source, by the edges that came to each station."""
        stations, steps = [found], []
        while stations[-1] != source:
            edge = came[stations[-1]]
            forward = self.end[edge] == stations[-1]
            steps.append(Step(edge=edge, forward=forward))
            stations.append(self.start[edge] if forward else self.end[edge])
        return stations[::-1], steps[::-1]

    def _connect(self, edge: int) -> None:
        start, end = self.start[edge], self.end[edge]
        self.adjacent[start].append((end, edge))
        self.adjacent[end].append((start, edge))

    def _find(self, station: int) -> int:
        piece = self.piece
        while piece[station] != station:
            piece[station] = piece[piece[station]]
            station = piece[station]
        return station

    def _union(self, a: int, b: int) -> None:
        keep, drop = min(a, b), max(a, b)
        self.piece[drop] = keep
        self.has_control[keep] |= self.has_control[drop]

    def _forest(
        self,
    ) -> tuple[tuple[tuple[int, bool], ...], tuple[int, ...], tuple[tuple[int, ...], ...]]:
        """Trees of first reaching, each from its anchor outward; the anchors; and pieces without one."""
        count = len(self.names)
        near: list[list[int]] = [[] for _ in range(count)]
        for edge in self.tree:
            near[self.start[edge]].append(edge)
            near[self.end[edge]].append(edge)
        visited = [False] * count
        forest: list[tuple[int, bool]] = []

        def grow(root: int) -> list[int]:
            visited[root] = True
            members = [root]
            for station in members:  # the list grows while it is walked
                for edge in near[station]:
                    forward = self.start[edge] == station
                    other = self.end[edge] if forward else self.start[edge]
                    if not visited[other]:
                        visited[other] = True
                        forest.append((edge, forward))
                        members.append(other)
            return members

        roots = []
        for root in sorted(self.fixes) or ([0] if count else []):
            if not visited[root]:
                roots.append(root)
                grow(root)
        loose = tuple(tuple(sorted(grow(station))) for station in range(count) if not visited[station])
        return tuple(forest), tuple(roots), loose
