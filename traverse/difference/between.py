"""Two versions of a log held against each other, each cause told once.

The changes are made one after the other, the heading's first, and the log is worked out after each: what a change brings
about is what then differs. So what follows from a new declination is told of the declination, and not of every bed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from traverse.compare.pairing import in_key_grid
from traverse.compile import Compiled, compile_log
from traverse.difference.bookings import Aligned, bookings, mixed, side_by_side
from traverse.difference.effects import effect, only_of
from traverse.difference.records import (
    Caused,
    Difference,
    DrawnWalk,
    Edit,
    EditKind,
    Effect,
    FigureOf,
    Renaming,
)
from traverse.difference.renames import find_renamings, renamed
from traverse.notation.use import Loader, loading
from traverse.record import record
from traverse.source import Source

MOST_ALONE = 12
"""Changes that are worked out one by one; of more, those of a kind together."""
_LARGE = 2000
"""Statements of a log from which on only kinds are: it takes seconds each time."""
_MOVES_FIGURES = (EditKind.HEADING, EditKind.WALK, EditKind.READING)

_NAMING = frozenset({"terrain", "controls"})
_PLACED = frozenset({"along", "covered", "contact", "unconformity", "fault"})


@record(frozen=True, slots=True, kw_only=True)
class Version:
    """A log in one of its versions, with what reads the files it names."""

    name: str
    compiled: Compiled
    load: Loader


@record(frozen=True, slots=True, kw_only=True)
class _Texts:
    """Every file of both versions, piece by piece; the log itself under the name of the new one."""

    pieces: Mapping[str, tuple[Aligned, ...]]
    was: Mapping[str, Source]
    now: Mapping[str, Source]

    def made(self, done: frozenset[tuple[str, int]]) -> dict[str, Source]:
        """The old files with these pieces as they are now."""
        found = {}
        for name, pieces in self.pieces.items():
            made = [(name, at) in done for at in range(len(pieces))]
            was, now = self.was.get(name), self.now.get(name)
            if was is None or now is None:
                found[name] = now or was or Source(name=name, text="")
            else:
                found[name] = Source(name=name, text=mixed(pieces, made, was, now))
        return found


def between(was: Version, now: Version) -> Difference:
    """What was changed from one to the other, and what each change brought about."""
    same_text = _plain(was.compiled) == _plain(now.compiled)
    was, texts, renamings = _called_anew(was, now)
    groups = _groups(texts)
    both = was.compiled.trav is not None and now.compiled.trav is not None
    edits = [texts.pieces[name][at].edit for group in groups for name, at in group]
    found = Difference(
        was=was.name,
        now=now.name,
        causes=(),
        edits=tuple(_in_order(edits)),
        whole=None,
        renamings=renamings,
        lengths=now.compiled.log.lengths,
        same_text=same_text,
        layout=not same_text and not edits and not renamings,
    )
    if not both:
        return replace(found, notes=tuple(_errors(was, now)))
    whole = effect(was.compiled, now.compiled)
    files = _other_files(was, now, texts)
    causes, plain_edits = _traced(was, now, texts, groups, files)
    causes = [_once(one, whole) for one in causes]
    plain_edits += [edit for one in causes if one.effect.empty for edit in one.edits]
    return replace(
        found,
        whole=whole,
        causes=tuple(one for one in causes if not one.effect.empty),
        edits=tuple(_in_order(plain_edits)),
        walks=_walks(was.compiled, now.compiled),
    )


def _called_anew(was: Version, now: Version) -> tuple[Version, _Texts, tuple[Renaming, ...]]:
    """The old version with what is called otherwise under its new name; as it stands where there is nothing of the kind.

    A camp names stations of its logs by letters that those do not have, so nothing is taken for the same there.
    """
    texts = _texts(was.compiled, now.compiled)
    if was.compiled.log.parties or now.compiled.log.parties:
        return was, texts, ()
    renamings = find_renamings(texts.pieces.values())
    if not renamings:
        return was, texts, ()
    sources = {name: renamed(source, renamings) for name, source in was.compiled.sources.items()}
    compiled = compile_log(sources[was.compiled.log.file], load=loading(sources, was.load))
    if (compiled.trav is None) is not (was.compiled.trav is None):
        return was, texts, ()
    return replace(was, compiled=compiled), _texts(compiled, now.compiled), renamings


def _once(one: Caused, whole: Effect) -> Caused:
    """A cause without what its own line says, and without what a later change undoes."""
    kept = only_of(one.effect, whole)
    own = {
        FigureOf(edit.word)
        for edit in one.edits
        if edit.word == "declination" and "model" not in (edit.now or "")
    }
    figures = tuple(figure for figure in kept.figures if figure.figure not in own)
    # An adjustment stretches legs too; only where a place was booked anew did what is there move on its leg.
    contacts = kept.contacts if any(edit.word in _PLACED for edit in one.edits) else ()
    return replace(one, effect=replace(kept, figures=figures, contacts=contacts))


def _errors(was: Version, now: Version) -> list[str]:
    return [
        f"{one.name} has errors, so only the lines are held against each other, not what follows from them"
        for one in (was, now)
        if one.compiled.trav is None
    ]


def _other_files(was: Version, now: Version, texts: _Texts) -> tuple[str, ...]:
    """Files that lines of both name, and that hold other figures: heights of the ground, points."""
    named = dict.fromkeys(
        piece.now.name
        for pieces in texts.pieces.values()
        for piece in pieces
        if piece.now is not None
        and piece.was is not None
        and piece.now.word in _NAMING
        and piece.now.name == piece.was.name
    )
    return tuple(one for one in named if _loaded(was, one) != _loaded(now, one))


def _loaded(version: Version, name: str) -> bytes | None:
    try:
        return version.load(name)
    except (OSError, ValueError):
        return None


def _in_order(edits: Sequence[Edit]) -> list[Edit]:
    """As they stand in the new log; what was taken out by its line in the old."""
    files: dict[str, int] = {}
    for one in edits:
        if one.span is not None:
            files.setdefault(one.span.file, len(files))
    return sorted(edits, key=lambda one: (files[one.span.file], one.span.line) if one.span else (0, 0))


def _plain(one: Compiled) -> dict[str, str]:
    return {name if name != one.log.file else "": source.text for name, source in one.sources.items()}


def _texts(was: Compiled, now: Compiled) -> _Texts:
    own = now.log.file
    old = {own if name == was.log.file else name: source for name, source in was.sources.items()}
    new = dict(now.sources)
    pieces = {}
    for name in dict.fromkeys((*new, *old)):
        before = bookings(old[name]) if name in old else ()
        after = bookings(new[name]) if name in new else ()
        pieces[name] = side_by_side(before, after)
    return _Texts(pieces=pieces, was=old, now=new)


_Group = list[tuple[str, int]]


def _groups(texts: _Texts) -> list[_Group]:
    """Pieces that change together: one alone, or all that was added or taken out with a place."""
    found: list[_Group] = []
    for name, pieces in texts.pieces.items():
        open_group: _Group | None = None
        for at, piece in enumerate(pieces):
            if piece.same:
                open_group = None
                continue
            alone = piece.was is not None and piece.now is not None
            leads = piece.edit.kind is EditKind.WALK
            if alone:
                open_group = None
                found.append([(name, at)])
            elif open_group is not None and piece.edit.kind is not EditKind.HEADING:
                open_group.append((name, at))
            else:
                found.append([(name, at)])
                open_group = found[-1] if leads else None
    return found


def _traced(
    was: Version, now: Version, texts: _Texts, groups: Sequence[_Group], files: Sequence[str]
) -> tuple[list[Caused], list[Edit]]:
    """Changes that move figures, in the order in which they are made, with what each brought about; then all others."""

    def edits_of(group: _Group) -> list[Edit]:
        return [texts.pieces[name][at].edit for name, at in group]

    def kind_of(group: _Group) -> EditKind:
        return edits_of(group)[0].kind

    ordered = [group for kind in _MOVES_FIGURES for group in groups if kind_of(group) is kind]
    rest = [edit for group in groups if kind_of(group) not in _MOVES_FIGURES for edit in edits_of(group)]
    steps = _steps(ordered, kind_of, sum(map(len, texts.pieces.values())))
    causes: list[Caused] = []
    done: frozenset[tuple[str, int]] = frozenset()
    before, waiting = was.compiled, list[Edit]()
    # Whatever moves no figure is made at once, so that lines of both logs are those of the new one in the end.
    quiet = frozenset(at for group in groups if kind_of(group) not in _MOVES_FIGURES for at in group)
    if files:
        edits = tuple(
            Edit(kind=EditKind.HEADING, word="file", place="", was="", now=one, was_at=None, now_at=None)
            for one in files
        )
        after = _compiled(texts, quiet, was, now) if steps else now.compiled
        if after is not None:
            causes.append(Caused(edits=edits, effect=effect(before, after)))
            before = after
    for index, step in enumerate(steps):
        done |= {at for group in step for at in group}
        waiting += [edit for group in step for edit in edits_of(group)]
        last = index == len(steps) - 1
        after = now.compiled if last else _compiled(texts, done | quiet, was, now)
        if after is None:
            continue
        causes.append(Caused(edits=tuple(waiting), effect=effect(before, after)))
        before, waiting = after, []
    if not steps and not files:
        left = effect(was.compiled, now.compiled)
        if not left.empty:
            causes.append(Caused(edits=(), effect=left))
    return causes, rest


def _steps(
    groups: Sequence[_Group], kind_of: Callable[[_Group], EditKind], statements: int
) -> list[list[_Group]]:
    """Groups to be made together: each alone, or where they are too many all of a kind."""
    if len(groups) <= MOST_ALONE and statements < _LARGE:
        return [[one] for one in groups]
    kinds = dict.fromkeys(kind_of(one) for one in groups)
    heading = [[one] for one in groups if kind_of(one) is EditKind.HEADING]
    if len(heading) > MOST_ALONE or statements >= _LARGE:
        heading = [[one for [one] in heading]] if heading else []
    others = [
        [one for one in groups if kind_of(one) is kind] for kind in kinds if kind is not EditKind.HEADING
    ]
    return [*heading, *others]


def _compiled(texts: _Texts, done: frozenset[tuple[str, int]], was: Version, now: Version) -> Compiled | None:
    """The log with these changes made; None where it has errors so."""
    sources = texts.made(done)
    own = sources[now.compiled.log.file]

    def either(path: str) -> bytes:
        try:
            return now.load(path)
        except (OSError, ValueError):
            return was.load(path)

    found = compile_log(own, load=loading(sources, either))
    return None if found.trav is None else found


def _walks(was: Compiled, now: Compiled) -> tuple[DrawnWalk, DrawnWalk] | None:
    assert was.trav is not None
    assert now.trav is not None
    before = in_key_grid(was.trav.survey, now.trav.survey)
    if before is None:
        return None
    after = {name: (place.east_m, place.north_m) for name, place in now.trav.survey.places.items()}
    drawn = []
    for places, log in ((before, was.log), (after, now.log)):
        drawn.append(
            DrawnWalk(
                places=tuple((name, east, north) for name, (east, north) in places.items()),
                legs=tuple((leg.start, leg.end) for leg in log.legs if {leg.start, leg.end} <= set(places)),
            )
        )
    return drawn[0], drawn[1]
