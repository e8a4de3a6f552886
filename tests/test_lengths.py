"""A length is worded in one place: no other module puts a unit after a figure."""

import ast
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "traverse"
VALUE = "\N{OBJECT REPLACEMENT CHARACTER}"
"""Stands in a text for what is put in when the program runs."""
UNIT = r"(?:m|ft|metres?|feet|foot)"
WORDED = re.compile(
    rf"^[ \u00a0]*(?:m|ft)(?:[ \u00a0,]|$)"  # a unit alone, to be put after something
    rf"|[\d{VALUE}][ \u00a0{VALUE}]?{UNIT}(?![\w²])"  # a unit after a figure
    r"|\b(?:[Mm]etres|[Ff]eet)\b"
)
TYPED = re.compile(r"`[^`]*`")
"""What a hint shows to be typed in the notation."""

FIXED = (
    "feet taken for metres",  # the slip, whatever the party measures in
    "metres taken for feet",
    "metres taken for paces",
    "metres or feet",
    "metres against feet",
    "east and north in metres",  # coordinates of a grid are metres
    "a map grid in metres",
    "not in metres",
    "as feet they would agree: write its heights in metres",  # a file of heights has no unit of its own
    "64p or 31.5m",  # what may be typed
)
"""Sentences about the units themselves."""

EXCEPTIONS = {
    "length.py": "the formatter",
    "log/records.py": "units as they are booked",
    "adjustment/slips.py": "names the unit that was taken for another",
    "notation/": "words of the notation, and what may be typed",
    "log/described.py": "examples of the notation",
    "output/pdf.py": "operators of the file format",
}


def docstrings(tree):
    return {
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }


def text(node):
    """A string expression as it will read, with a mark for each value; None of anything else."""
    match node:
        case ast.Constant(value=str(words)):
            return words
        case ast.JoinedStr(values=values):
            return "".join(text(one) or VALUE for one in values)
        case ast.FormattedValue(value=ast.Name(id="NO_BREAK")) | ast.Name(id="NO_BREAK"):
            return "\N{NO-BREAK SPACE}"
        case ast.BinOp(op=ast.Add(), left=left, right=right):
            parts = text(left), text(right)
            return None if parts == (None, None) else "".join(one or VALUE for one in parts)
    return None


def worded(source):
    """Line and text of every string that gives a length its unit."""
    tree = ast.parse(source)
    passed = docstrings(tree)

    def walk(node):
        if node in passed:
            return
        whole = text(node)
        if whole is not None:
            bare = TYPED.sub("", whole)
            for phrase in FIXED:
                bare = bare.replace(phrase, "")
            if WORDED.search(bare):
                yield node.lineno, whole
        # Parts of a text are seen in it; what is put into it is looked at by itself.
        for child in ast.iter_child_nodes(node):
            if whole is None or text(child) is None:
                yield from walk(child)
            else:
                yield from inner(child)

    def inner(node):
        for child in ast.iter_child_nodes(node):
            yield from walk(child) if text(child) is None else inner(child)

    return list(walk(tree))


def modules():
    for path in sorted(PACKAGE.rglob("*.py")):
        name = str(path.relative_to(PACKAGE))
        if not any(name == one or (one.endswith("/") and name.startswith(one)) for one in EXCEPTIONS):
            yield name


@pytest.mark.parametrize("name", list(modules()))
def test_no_module_words_a_length_by_itself(name):
    assert worded((PACKAGE / name).read_text(encoding="utf-8")) == [], "`Log.lengths` words it"


@pytest.mark.parametrize("name", sorted(EXCEPTIONS))
def test_every_exception_is_still_needed(name):
    found = sorted(PACKAGE.glob(f"{name}**/*.py" if name.endswith("/") else name))
    assert any(worded(path.read_text(encoding="utf-8")) for path in found)


@pytest.mark.parametrize(
    "source",
    [
        'f"{length:.0f} m"',
        'f"{length:.0f} m apart"',
        'f"{number(length)}{NO_BREAK}m{way}"',
        'f"{number(length)}\\u00a0ft"',
        'f"out by {number(length)}m"',
        'number(length) + NO_BREAK + "m"',
        'number(length) + " ft"',
        'Column(name="Ground", unit="m")',
        '"m, 1 sd"',
        'f"± {sd} metres"',
        '"Thickness between contacts, metres"',
        '"read again 5 m off"',
        'f"a {kind} of {length} m; see `pace 0.76 m`"',
        "f'within {f\"{length} m\" if length else reach}'",
    ],
)
def test_a_unit_put_after_a_figure_by_hand_is_found(source):
    assert worded(f"words = {source}")


@pytest.mark.parametrize(
    "source",
    [
        'f"add a line such as `pace {who} double 1.52 m`"',
        '"a wrong pace length, feet taken for metres throughout, or a wrong start"',
        'f"{size:.0f} mm on paper"',
        'f"{area:.0f} m²"',
        'f"{count} more"',
        '"left of the foot of the page"',
        'f"{lengths.said(length)} apart"',
        'def f():\n    """A length in metres: `24 m`."""',
    ],
)
def test_what_is_no_length_is_let_be(source):
    assert not worded(source if source.startswith("def") else f"words = {source}")
