"""Short logs compiled for tests of the sheet, and what stands on its pages."""

from __future__ import annotations

from functools import lru_cache

from traverse.compile import compile_log, map_ground
from traverse.sheet.compose.compose import compose
from traverse.sheet.paper.page import Group, Path, Text
from traverse.sheet.template.reading import read_template
from traverse.source import Source


@lru_cache(maxsize=64)
def compiled(body, *, title="Test Dale, day 1"):
    """A log that must be free of errors."""
    text = f"notation 1\ntraverse {title}\n{body}"
    found = compile_log(Source(name="test.trav", text=text), load=lambda name: None)
    assert not found.failed, [one.message for one in found.diagnostics]
    return found


def sheet(found, *, mark="abc123", report=False, template="field"):
    """The composed document and what was said while composing."""
    outcome = compose(
        map_ground(found.trav),
        found.diagnostics,
        template=read_template(template).value,
        mark=mark,
        report=report,
    )
    return outcome.value, outcome.diagnostics


def walk(items):
    """All paths and texts, groups opened."""
    for item in items:
        if isinstance(item, Group):
            yield from walk(item.items)
        else:
            yield item


def layer(items, name):
    """What is on one layer."""
    for item in items:
        if isinstance(item, Group):
            if item.layer == name:
                yield from walk(item.items)
            else:
                yield from layer(item.items, name)


def texts(items):
    return [item.text for item in walk(items) if isinstance(item, Text)]


def paths(items):
    return [item for item in walk(items) if isinstance(item, Path)]
