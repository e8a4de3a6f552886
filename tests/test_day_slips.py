"""One cause, one message: single slips of a field day in logs that are otherwise right, through the whole chain."""

from collections import Counter

import pytest

from tests.day_slips import KINDS, LOGS, compiled, new, slips, verdict
from tests.thorough import either

EACH = either(1, 3)


@pytest.fixture(scope="module")
def judged():
    clean = {}
    found = []
    for slip in slips(EACH):
        said, after = new(slip, clean)
        found.append((slip, verdict(slip, said, after), said))
    return found


def test_a_slip_that_something_contradicts_is_one_message_that_names_its_line(judged):
    """Nor is any told twice; a loop whose readings explain it alike names none of them."""
    assert len(judged) > 30 * EACH
    assert {slip.kind for slip, _, _ in judged} == set(KINDS)
    count = Counter(what for _, what, _ in judged)
    bad = [
        (what, slip.kind, slip.path.name, slip.line, slip.typed, [one.message for one in said])
        for slip, what, said in judged
        if what not in {"one", "agrees", "its loop"}
    ]
    told = len(judged) - count["agrees"]
    # Aim 2.5 %: one slip in 154 is over it since wrong beds are asked about beside wrong bearings.
    assert len(bad) <= 0.03 * told, bad
    assert count["several"] + count["several, first elsewhere"] == 0, bad
    assert count["agrees"] < 0.25 * len(judged)


def test_the_logs_are_clean():
    """But for what their own first line says they show."""
    for path in LOGS:
        assert not compiled(path, path.read_text("utf-8")).failed


def test_what_a_message_rests_on_is_told_again_once_it_is_answered(compile_text):
    page = (
        "notation 1\nbearings true\ndistances metres\nat 1\nto 2 000 80m back 000\nto 3 090 80m\nto 4 180 80m\n"
        "close 1 270 80m\n"
    )
    (one,) = [one for one in compile_text(page).diagnostics if one.kind == "warning"]
    assert (one.code, one.span.line) == ("fore-back-reversed", 5)
    answered = page.replace("back 000\n", "back 000\nchecked MO read twice\n").replace("80m back", "8m back")
    codes = [one.code for one in compile_text(answered).diagnostics if one.kind == "warning"]
    assert codes == ["closure-fails"]
