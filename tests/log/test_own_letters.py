"""What a camp asks of a party's line is quoted in the letters of that party's own log."""

import re

import pytest

from tests.compare.round_walks import Ground
from traverse.compile import compile_log
from traverse.source import Source


def camp_of(seed, change=lambda text, _: text):
    """A, and F, which has other letters for each unit and one of its lines changed."""
    ground = Ground(seed)
    logs = {"A": ground.walk((seed, "A")), "F": ground.walk((seed, "F"))}
    units = re.findall(r"(?m)^unit (\w+) ([^;]+) ;", logs["A"])
    known = "|".join(letters for letters, _ in units)
    # Each unit has in F's log the letters that the next one has in A's: letters alone say nothing.
    theirs = dict(zip([a for a, _ in units], [*(a for a, _ in units[1:]), units[0][0]], strict=True))
    other = re.sub(rf"\b({known})\b", lambda found: theirs[found[1]], logs["F"])
    logs["F"] = change(other, theirs)
    rows = [
        "notation 1",
        "traverse Sallow Combe",
        "log A.trav as A",
        "log F.trav as F",
        *(f"tie A-{at} to F-{at}" for at in (1, 4, 7)),
        *(f"unit {letters} {name} ; also F-{theirs[letters]}" for letters, name in units),
    ]
    files = {f"{one}.trav": text for one, text in logs.items()}
    text = "\n".join(rows) + "\n"
    found = compile_log(Source(name="camp.trav", text=text), load=lambda path: files[path].encode())
    assert not found.failed, [one.message for one in found.diagnostics if one.kind == "error"]
    return found, files, theirs


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", range(3))
def test_a_wrong_unit_is_quoted_and_mended_in_the_letters_of_its_own_log(seed):
    lines = []

    def wrong(text, theirs):
        rows = text.splitlines()
        untied = rows.index("at 5")
        at = next(at for at, row in enumerate(rows) if at > untied and re.fullmatch(r"\s+unit +\w+", row))
        was = rows[at].split()[1]
        rows[at] = rows[at].replace(was, next(one for one in theirs.values() if one != was))
        lines.append((at + 1, was, rows[at].split()[1]))
        return "\n".join(rows) + "\n"

    sound, _, _ = camp_of(seed)
    assert not [one for one in sound.diagnostics if "`unit" in " ".join((one.message, *one.hints))]
    found, _, _ = camp_of(seed, wrong)
    ((line, was, now),) = lines
    asked = [
        " ".join((one.message, *one.hints))
        for one in found.diagnostics
        if one.kind == "warning" and one.span and (one.span.file, one.span.line) == ("F.trav", line)
    ]
    assert asked
    assert any(f"`unit {now}`" in one and f"`unit {was}`" in one for one in asked), asked
