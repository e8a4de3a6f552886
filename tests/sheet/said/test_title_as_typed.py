"""The title at the head of a page is the one that was typed."""

import pytest

from tests.sheet.fixture_sheet import compiled
from traverse.sheet.said.sentences import short_title


@pytest.mark.parametrize(
    ("typed", "head"),
    [
        ("Kellan Ridge, Monday", "Kellan Ridge, Monday"),
        ("Kellan Ridge, loop 2", "Kellan Ridge, loop 2"),
        ("Kellan Ridge, Monday: the crest", "Kellan Ridge, Monday"),
        ("Kellan Ridge", "Kellan Ridge"),
    ],
)
def test_the_day_keeps_its_capital(typed, head):
    assert short_title(compiled("bearings true\nat 1\nto 2 000 10m\n", title=typed).trav.log) == head
