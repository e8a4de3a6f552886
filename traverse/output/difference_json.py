"""Two versions of a log as one JSON object."""

from __future__ import annotations

import json
from typing import Any

from traverse.difference.records import ClosureState, Difference, Edit, Effect
from traverse.output.figures import angle, length, significant
from traverse.settled import settled
from traverse.sheet.paper.words import NO_BREAK
from traverse.sheet.said.difference_words import edit_words, effect_words
from traverse.source import Span

Json = dict[str, Any]


def difference_json(found: Difference) -> bytes:
    """The object in UTF-8, with two blanks of indent."""
    body = {
        "difference": 1,
        "was": found.was,
        "now": found.now,
        "same": found.none,
        "same_text": found.same_text,
        "notes": list(found.notes),
        "renamed": [{"what": one.what, "was": one.was, "now": one.now} for one in found.renamings],
        "causes": [
            {"edits": [_edit(edit) for edit in one.edits], **_effect(one.effect, found)}
            for one in found.causes
        ],
        "edits": [_edit(edit) for edit in found.edits],
        "whole": None if found.whole is None else _effect(found.whole, found),
    }
    return (json.dumps(body, ensure_ascii=False, indent=2, allow_nan=False) + "\n").encode()


def _edit(edit: Edit) -> Json:
    return {
        "kind": edit.kind.value,
        "word": edit.word,
        "place": edit.place or None,
        "now": edit.now,
        "was": edit.was,
        "now_at": _line(edit.now_at),
        "was_at": _line(edit.was_at),
        "words": _plain(edit_words(edit)),
    }


def _line(span: Span | None) -> Json | None:
    return None if span is None else {"file": span.file, "line": span.line}


def _plain(words: str) -> str:
    return words.replace(NO_BREAK, " ")


def _effect(effect: Effect, found: Difference) -> Json:
    return {
        "words": [_plain(one) for one in effect_words(effect, found.lengths)],
        "stations": [
            {
                "name": one.station,
                "east": length(one.east_m),
                "north": length(one.north_m),
                "up": length(one.up_m),
                "distance": length(one.distance_m),
                "azimuth": angle(one.azimuth_deg),
            }
            for one in effect.moves
        ],
        "new_stations": list(effect.new_stations),
        "gone_stations": list(effect.gone_stations),
        "loops": [
            {"name": one.name, "now": _closure(one.now), "was": _closure(one.was)} for one in effect.closures
        ],
        "attitudes": [
            {
                "stations": list(one.stations),
                "clockwise": None if one.clockwise_deg is None else settled(one.clockwise_deg, 6),
                "apart": angle(one.apart_deg),
            }
            for one in effect.turnings
        ],
        "contacts": [{"name": one.name, "moved": length(one.moved_m)} for one in effect.contacts],
        "figures": [
            {
                "figure": one.figure.value,
                "of": one.of or None,
                "now": None if one.now is None else [settled(part, 6) for part in one.now],
                "was": None if one.was is None else [settled(part, 6) for part in one.was],
            }
            for one in effect.figures
        ],
        "sayings": [
            {"what": one.what, "words": one.words, "gone": one.gone, "line": one.line}
            for one in effect.sayings
        ],
    }


def _closure(state: ClosureState | None) -> Json | None:
    if state is None:
        return None
    return {
        "distance": length(state.distance_m),
        "ratio": significant(state.ratio),
        "adjusted": state.adjusted,
    }
