"""Slips of a tired hand: what is asked or offered at the line where the cause stands."""

import pytest

HEAD = "notation 1\ntraverse Dun Mirror, Wednesday\nbearings true\npace 1 m\n"
WALK = "at 1\nto 2 000 100p\nto 3 090 100p\nat 3\nto 4 180 100p\nclose 1 270 100p\n"


def told(compile_text, text):
    return [one for one in compile_text(text, errors=True).diagnostics if one.kind in {"error", "warning"}]


@pytest.mark.parametrize(
    ("counts", "said"),
    [
        ("31, 132, 131, 133", "31 stands apart from 132, 131, 133: was it 131?"),
        ("132, 113, 131, 133", "113 stands apart from 132, 131, 133: was it 131?"),
        ("132, 1310, 131", "1310 stands apart from 132, 131: was it 131?"),
        ("132, 250, 131", "250 stands apart from 132, 131"),
    ],
)
def test_a_wild_count_is_asked_about_at_its_place(compile_text, counts, said):
    (one,) = told(compile_text, f"notation 1\nbearings true\npace single 100 m in {counts}\n{WALK}")
    assert (one.code, one.message, one.span.line) == ("pace-counts", said, 3)
    assert one.span.end - one.span.column == len(said.split()[0])


@pytest.mark.parametrize("counts", ["131, 132, 131, 133", "31, 132", "128, 131, 138", "110, 132, 121"])
def test_counts_that_scatter_are_not_asked_about(compile_text, counts):
    found = told(compile_text, f"notation 1\nbearings true\npace single 100 m in {counts}\n{WALK}")
    assert "pace-counts" not in {one.code for one in found}


@pytest.mark.parametrize(
    ("line", "word", "hint"),
    [
        ("to 5 O79 100p", "O79", "`079`"),
        ("to 5 079 l00p", "l00p", "`100p`"),
        ("to 5 N4OE 100p", "N4OE", "`N40E`"),
        ("to 5 079 3o2ft", "3o2ft", "`302ft`"),
        ("to 5 079 1l5p back 259", "1l5p", "`115p`"),
        ("to 5 079 64p back 2z8", "2z8", "`228`"),
        ("bed 35O/20", "35O/20", "`350/20`"),
        ("control 5 61235O E 4640200 N", "61235O", "`612350`"),
        ("control 5 612350 E 4640200 N 64O m ±4 gps", "64O", "`control 5 612350 E 4640200 N 640 m ±4 gps`"),
        ("elevation 64O m map", "64O", None),
    ],
)
def test_a_letter_for_a_figure_is_named(compile_text, line, word, hint):
    text = f"{HEAD}attitudes dip-right\nat 1\n{line}\n"
    one = next(one for one in told(compile_text, text) if one.span.line == 7)
    assert one.code == "letter-for-figure"
    assert line[one.span.column - 1 : one.span.end - 1] == word
    assert hint is None or one.hints == (hint,)


def test_a_name_of_two_words_is_no_figure(compile_text):
    (one,) = told(compile_text, f"{HEAD}at 1\nto 2 O1 079 100p\n")
    assert one.code == "name-words"


def test_a_leg_without_its_first_word(compile_text):
    (one,) = told(compile_text, HEAD + WALK.replace("to 3 090", "3 090"))
    assert (one.span.line, one.hints) == (7, ("a leg is `to 3 090 100p`",))
    # From its bearing on, the name stands below.
    (one,) = told(compile_text, HEAD + "at 1\n090 100p\nat 2\nto 3 000 80p\n")
    assert one.hints == ("a leg says where it leads, `to 2 090 100p`",)
    (one,) = told(compile_text, HEAD + "at 1\nto 2 090 100p\nN45E 80p back S45W\n")
    assert one.hints == ("a leg says where it leads, `to NAME N45E 80p back S45W`",)
    # Where nothing else leads on, what comes after it hangs on that line alone.
    (one,) = told(compile_text, HEAD + "at 1\n2 090 100p\nto 3 000 80p\n")
    assert one.hints == ("a leg is `to 2 090 100p`",)


def test_the_walk_began_at_the_wrong_name(compile_text):
    (one,) = told(compile_text, HEAD + WALK.replace("at 1\n", "at 11\n"))
    assert one.message == "no station 1; the walk begins at 11: was it 1?"
    assert one.hints == ("`at 1` in line 5, or `close 11` here",)


def test_the_leg_to_a_station_that_exists_leads_where_the_lines_below_go_on(compile_text):
    (one,) = told(compile_text, HEAD + WALK.replace("at 3", "at 3").replace("to 3 090", "to 1 090"))
    assert one.hints == ("`to 3`, where the lines below go on, or `close 1` if this leg comes back to it",)


@pytest.mark.parametrize(
    ("figures", "hints"),
    [
        ("64 07.332 W 45 20.514 N", ("`45 20.514 N 64 07.332 W`",)),
        ("64 07.332 E 45 20.514 N", ("`45 20.514 N 64 07.332 E`",)),
        ("64.1222 W 45.3419 N", ("`45.3419 N 64.1222 W`",)),
        ("45 20.514 N 64 07.332", ("`45 20.514 N 64 07.332 W` or `45 20.514 N 64 07.332 E`",)),
        ("45 20.514 64 07.332 W", ("`45 20.514 N 64 07.332 W` or `45 20.514 S 64 07.332 W`",)),
        ("4640200 N 612350 E", None),
    ],
)
def test_latitude_and_longitude_in_the_wrong_order_or_without_a_letter(compile_text, figures, hints):
    one = told(compile_text, f"{HEAD}grid EPSG:32620\ncontrol 1 {figures} 12 m gps\n{WALK}")[0]
    assert one.span.line == 6
    if hints is not None:
        assert (one.code, one.hints) == ("control-axes", hints)


def test_a_station_with_a_figure_more_than_the_start_is_no_other_start(compile_text):
    (one,) = told(compile_text, HEAD + WALK.replace("close 1", "close 12"))
    assert "begins" not in one.message
