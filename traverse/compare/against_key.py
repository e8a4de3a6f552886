"""A log held against the key, from pairs to marks."""

from __future__ import annotations

from traverse.compare.explained_by import find_causes
from traverse.compare.marking import marks
from traverse.compare.pairing import stand
from traverse.compare.records import Comparison, PairedBy, Scheme
from traverse.compile import Compiled, compile_log
from traverse.ground.records import Traverse
from traverse.notation.use import Loader, loading


class NoSharedStationError(ValueError):
    """A log and a key that have no station in common."""


def against_key(
    name: str, compiled: Compiled, key: Traverse, scheme: Scheme, load: Loader, *, unnamed: bool = False
) -> Comparison:
    """A log without errors beside the key. `load` reads the files that the log names.

    `unnamed` calls these by numbers, since a file may be called after who wrote it.
    Raises `NoSharedStationError` where nothing can be paired.
    """
    assert compiled.trav is not None
    standing = stand(compiled.trav, key, scheme)
    if not standing.pairs:
        raise NoSharedStationError(name)
    found = find_causes(compiled, key, standing, load)
    scored = marks(standing, compiled.trav, key, compiled.diagnostics, scheme)
    mended, scored_mended = standing, scored
    if found.causes:
        again = compile_log(found.sources[compiled.log.file], load=loading(found.sources, load))
        if again.trav is not None:
            mended = stand(again.trav, key, scheme)
            scored_mended = marks(mended, again.trav, key, again.diagnostics, scheme)
    notes = []
    if not standing.framed:
        notes.append(
            "the log and the key have no known point in common, so only the shape of the walk is judged, not where it lies"
        )
    if any(one.by is PairedBy.SHAPE for one in standing.pairs):
        notes.append(
            "its numbers are not the key's, so stations are paired by the shape of the walk; one `control` in both logs "
            "would pair them by place"
        )
    return Comparison(
        log=name,
        standing=standing,
        mended=mended,
        causes=found.causes,
        apart=found.apart,
        marks=scored,
        marks_mended=scored_mended,
        lengths=compiled.log.lengths,
        notes=tuple(notes),
        files=_called(compiled, unnamed=unnamed),
    )


def _called(compiled: Compiled, *, unnamed: bool) -> dict[str, str]:
    """What the files besides the log's own are called: a party by its letters."""
    letters = {one.file: one.letters for one in compiled.log.parties}
    others = [file for file in compiled.sources if file != compiled.log.file]
    return {
        file: f"file {number}" if unnamed else letters.get(file) or file
        for number, file in enumerate(others, start=1)
    }
