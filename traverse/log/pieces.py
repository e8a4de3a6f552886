"""Whether a log hangs together: its pieces, and stations that nothing comes of."""

from __future__ import annotations

from collections.abc import Iterator

from traverse.diagnostic import Diagnostic, Label, error, note
from traverse.log.items import Leg, LegKind, Sight
from traverse.log.records import Log

_LISTED = 8
"""Stations of a piece that a message names."""


def check_pieces(log: Log, *, unread: frozenset[str] = frozenset()) -> Iterator[Diagnostic]:
    """Pieces that nothing places, and spurs that end in nothing.

    Without a control the first piece is placed by itself; beside one that is placed every other must be too.
    """
    if unread & {"AT", "FROM", "TO", "CLOSE", "SIDE", "CONTROL", "TIE", "LOG"}:
        return
    pieces = _pieces(log)
    anchors = {control.name for control in log.controls} | _sighted(log)
    placed = [piece for piece in pieces if any(name in anchors for name in piece)]
    if (
        not any(control.name in log.first_at for control in log.controls)
        and pieces
        and pieces[0] not in placed
    ):
        placed.append(pieces[0])
    loose = [piece for piece in pieces if piece not in placed]
    if loose:
        struck = {one.record.end for one in log.omitted if isinstance(one.record, Leg)}
        first = log.first_at.get(loose[0][0])
        span = None if first is None else first.span
        names = " and ".join(_list(piece) for piece in loose)
        joined = "; ".join(_list(piece) for piece in placed)
        why = (
            " (a leg to it is struck out)" if any(name in struck for piece in loose for name in piece) else ""
        )
        labels = tuple(
            Label(log.first_at[piece[0]].span, f"the piece of {piece[0]}")
            for piece in loose[1:]
            if piece[0] in log.first_at
        )
        remedy = "walk a leg between them, give a `control`, or `tie NAME to NAME`"
        yield error(
            "loose-piece",
            f"nothing joins {names} to the rest{why}" + (f": {joined}" if joined else ""),
            span,
            _tie_of_parties(log, placed, loose) or remedy,
            labels=labels,
        )
    yield from _orphans(log)


def _tie_of_parties(log: Log, placed: list[list[str]], loose: list[list[str]]) -> str | None:
    """What joins the piece of a party to that of another; None where they are of one party."""
    other = next((letters for letters in log.party_letters if loose[0][0].startswith(f"{letters}-")), None)
    known = [name for piece in placed for name in piece]
    party = next(
        (
            one
            for one in log.party_letters
            if one != other and any(name.startswith(f"{one}-") for name in known)
        ),
        None,
    )
    if other is None or party is None:
        return None
    return (
        f"`tie {party}-NAME to {other}-NAME` of a place where both stood; or give both logs one `control`, with the same "
        "figures"
    )


def _pieces(log: Log) -> list[list[str]]:
    """Stations that legs and ties join, in the order of the log."""
    above: dict[str, str] = {name: name for name in log.stations}

    def root(name: str) -> str:
        above.setdefault(name, name)
        while above[name] != name:
            above[name] = above[above[name]]
            name = above[name]
        return name

    for leg in log.legs:
        above[root(leg.end)] = root(leg.start)
    for tie in log.ties:
        above[root(tie.second)] = root(tie.first)
    gathered: dict[str, list[str]] = {}
    for name in log.stations:
        gathered.setdefault(root(name), []).append(name)
    return list(gathered.values())


def _sighted(log: Log) -> set[str]:
    """Stations and landmarks that sights place: two rays to it, or from it to two controls."""
    controls = {control.name for control in log.controls}
    to: dict[str, set[int]] = {}
    onto: dict[str, set[str]] = {}
    for item in log.items:
        if isinstance(item, Sight):
            to.setdefault(item.target, set()).add(item.address.index)
            if item.address.station is not None and item.target in controls:
                onto.setdefault(item.address.station, set()).add(item.target)
    return {name for name, rays in to.items() if len(rays) > 1} | {
        name for name, rays in onto.items() if len(rays) > 1
    }


def _list(piece: list[str]) -> str:
    shown = ", ".join(piece[:_LISTED])
    return shown + (f" and {len(piece) - _LISTED} more" if len(piece) > _LISTED else "")


def _orphans(log: Log) -> Iterator[Diagnostic]:
    """Side shots to which nothing is booked: nothing is lost, but perhaps a line was forgotten."""
    described = {item.address.station for item in log.items}
    left = {leg.start for leg in log.legs} | {name for tie in log.ties for name in (tie.first, tie.second)}
    for leg in log.legs:
        if leg.kind is LegKind.SIDE and leg.end not in described and leg.end not in left:
            yield note("nothing-there", f"nothing is described at {leg.end}", leg.end_span)
