"""The head of a page as it was typed, for the next page."""

from traverse.notation.layout import heading_lines
from traverse.source import Source


def lines(*texts):
    return heading_lines(Source(name=f"{at}.trav", text=text) for at, text in enumerate(texts))


def test_each_statement_of_the_head_is_kept_as_typed_without_its_comment():
    found = lines(
        "notation 1\ntraverse Nowhere\nPace  TB double 100 m in 65, 66 # by the fence\npace NJ 0.8 m\n"
        "pacer TB\ncontrol 1 1000 E 2000 N\nat 1\ndate 2026-07-15\nto 2 047 20p\n"
    )
    assert found["pace"] == ("TB double 100 m in 65, 66", "NJ 0.8 m")
    assert found["control"] == ("1 1000 E 2000 N",)
    assert "date" not in found, "a second day is no head"
    assert "pacer" not in found


def test_a_head_that_is_used_by_another_counts_and_what_both_say_stands_once():
    found = lines("notation 1\nuse camp.trav\nbearings true\nat 1\n", "notation 1\nbearings true\nparty MO\n")
    assert found["bearings"] == ("true",)
    assert found["party"] == ("MO",)
