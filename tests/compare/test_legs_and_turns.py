"""A length put down wrong, and all bearings turned, on invented ground: what is named is what was done, and nothing else."""

import pytest

from tests.compare.round_walks import Ground, alone, held
from tests.thorough import some

SEEDS = range(8)


def plain_leg(ground):
    """The longest leg on which no unit changes, by its number."""
    legs = [at for at in range(1, ground.count - 1) if not ground.crossings(at, at + 1)]
    return max(
        legs, key=lambda at: sum((a - b) ** 2 for a, b in zip(*ground.places[at : at + 2], strict=True))
    )


def line_of_leg(text, leg):
    return next(number for number, row in enumerate(text.splitlines(), 1) if row.startswith(f"to {leg + 2} "))


def walked(seed, change=None, **kinds):
    """A party's log with the length of one leg changed, its key, the leg's number and its length as taped."""
    ground = Ground(seed)
    leg, taped = plain_leg(ground), []

    def written(length):
        taped.append(length)
        return f"{change(length):.1f}"

    lengths = {} if change is None else {leg: written}
    text = ground.walk((seed, "party"), lengths=lengths, **kinds)
    return text, ground.walk((seed, "key")), leg, taped


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_a_clean_party_is_accused_of_nothing(seed):
    text, key, _, _ = walked(seed)
    found = held(text, key)
    assert found.causes == ()
    assert found.apart == ()
    assert alone(text).survey.suspects == ()


@pytest.mark.in_turn
@pytest.mark.parametrize("seed", some(SEEDS, 4))
@pytest.mark.parametrize(
    ("change", "cause"),
    [(lambda m: m + 100.0, "a hundred too many"), (lambda m: m - 100.0, "a hundred left out")],
)
def test_a_hundred_more_or_less_is_called_so_with_the_figure(seed, change, cause):
    text, key, leg, taped = walked(seed, change)
    if taped[0] < 105.0 and cause == "a hundred left out":
        change, cause = (lambda m: m + 100.0), "a hundred too many"
        text, key, leg, taped = walked(seed, change)
    (found,) = held(text, key).causes
    assert found.span.line == line_of_leg(text, leg)
    assert found.cause.endswith(cause)
    assert float(found.reading.removesuffix("m")) == pytest.approx(taped[0], abs=0.06)
    suspects = alone(text).survey.suspects
    assert (line_of_leg(text, leg), cause) in {(one.span.line, one.slip) for one in suspects}


@pytest.mark.in_turn
@pytest.mark.parametrize("seed", some(SEEDS, 4))
@pytest.mark.parametrize("off", [68.0, 43.0, -36.0])
def test_a_length_misread_in_no_usual_way_is_named_by_the_length_that_comes_to_it(seed, off):
    text, key, leg, taped = walked(seed, lambda m: m + off)
    comparison = held(text, key)
    (found,) = comparison.causes
    assert found.span.line == line_of_leg(text, leg)
    assert comparison.apart == ()
    if found.cause.endswith("distance misread"):
        assert (
            f"about {float(found.reading.removeprefix('about ').removesuffix('m')):.0f}m comes to it"
            in found.rests_on
        )
        assert found.rests_on.endswith(f"{taped[0] + off:.1f} was read")
        named = found.reading
    else:
        # Figures that chance brings near the length when exchanged are told first; the length itself is told beside them.
        assert found.cause.endswith("digits of the distance exchanged")
        (other,) = found.not_excluded
        named = other.removeprefix("distance misread (").removesuffix(")")
    assert float(named.removeprefix("about ").removesuffix("m")) == pytest.approx(taped[0], abs=6.0)


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_a_declination_in_the_bearings_twice_is_one_cause_whether_the_strikes_have_it_or_not(seed):
    for beds, cause in (
        (6.0, "declination applied twice"),
        (0.0, "declination applied twice to the bearings"),
    ):
        text, key, _, _ = walked(seed, bearings=6.0, beds=beds)
        comparison = held(text, key)
        (found,) = comparison.causes
        assert text.splitlines()[found.span.line - 1].startswith("declination")
        # With few strikes the two can't always be told apart: then each is named beside the other.
        assert cause in {found.cause, *found.not_excluded}
        assert comparison.apart == ()
        assert all(
            one.scored == one.of for one in comparison.marks_mended if one.part.value in {"location", "shape"}
        )


@pytest.mark.in_turn
@pytest.mark.parametrize("seed", some(SEEDS, 4))
@pytest.mark.parametrize("turn", [-10.0, 13.0])
def test_bearings_all_turned_by_what_no_heading_explains_are_told_as_one_turn(seed, turn):
    text, key, _, _ = walked(seed, bearings=turn)
    comparison = held(text, key)
    (found,) = comparison.causes
    way = "right" if turn > 0 else "left"
    assert found.cause.startswith("every bearing of a leg ")
    assert found.cause.endswith(f"too far to the {way}")
    assert comparison.apart == ()


@pytest.mark.every(2)
@pytest.mark.parametrize("turn", [-4, 11])
def test_a_walk_turned_as_a_whole_is_told_where_nothing_but_its_shape_is_judged(turn):
    """A compass read under `bearings true`, no known point, and nobody who says what the declination is."""
    true = {"north": "true"}
    ground = Ground(3)
    key, text = (
        ground.walk((3, who), bearings=6.0 + off, beds=6.0 + off, **true).replace(
            "declination 6 E, 2026, map margin\n", ""
        )
        for who, off in (("key", 0), ("party", turn))
    )
    comparison = held(text, key)
    (found,) = comparison.causes
    assert text.splitlines()[found.span.line - 1] == "bearings true"
    assert found.cause == f"every bearing too far to the {'right' if turn > 0 else 'left'}"
    assert found.reading == f"each turned by {-turn:+d}°"
    assert found.not_excluded == ("magnetic bearings under `bearings true`",)
    # What is told of single lines stands at the lines as they were typed.
    (process,) = (one for one in comparison.marks_mended if one.part.value == "process")
    assert {one.span.line for one in process.items if one.span is not None} <= set(
        range(1, len(text.splitlines()) + 1)
    )


def test_a_declination_left_out_is_named_where_its_own_heading_states_it():
    """The line is there, and `bearings true` above it keeps it from being applied."""
    ground = Ground(3)
    key, text = (
        ground.walk((3, "key")),
        ground.walk((3, "party")).replace("bearings magnetic", "bearings true"),
    )
    (found,) = held(text, key).causes
    assert text.splitlines()[found.span.line - 1] == "bearings true"
    assert found.cause == "declination left out: bearings were magnetic"


def test_a_declination_left_out_is_named_by_what_the_key_takes():
    ground = Ground(3)
    key = ground.walk((3, "key"))
    text = ground.walk((3, "party")).replace(
        "bearings magnetic\ndeclination 6 E, 2026, map margin", "bearings true"
    )
    comparison = held(text, key)
    (found,) = comparison.causes
    assert text.splitlines()[found.span.line - 1] == "bearings true"
    assert found.cause == "declination left out: bearings were magnetic"
    lines = [
        {one.what: one.span and one.span.line for part in marks for one in part.items}
        for marks in (comparison.marks, comparison.marks_mended)
    ]
    assert lines[0] == lines[1]


@pytest.mark.parametrize("seed", some(SEEDS, 4))
def test_no_mend_of_one_leg_opens_a_loop(seed):
    text, key, _, _ = walked(seed, bearings=6.0)
    for one in held(text, key).causes:
        assert not one.cause.startswith("leg ")


@pytest.mark.every(2)
@pytest.mark.parametrize("seed", some(range(40, 52), 6))
def test_a_degree_between_two_compasses_is_no_slip(seed):
    ground = Ground(seed)
    found = held(ground.walk((seed, "party"), bearings=0.6), ground.walk((seed, "key")))
    assert [one.cause for one in found.causes] == []


@pytest.mark.in_turn
@pytest.mark.parametrize("skipped", [3, 7])
@pytest.mark.parametrize("seed", some(range(6), 2))
def test_a_party_that_walks_past_a_stop_is_not_told_to_look_again_at_its_contacts(seed, skipped):
    ground = Ground(seed)
    known = "\ngrid EPSG:25833\ncontrol 1 512300 E 6712400 N ±1 m gps\nunit Fg"
    texts = (ground.walk((seed, "past"), order=[one for one in range(ground.count) if one != skipped]),
             ground.walk((seed, "key")))  # fmt: skip
    found = held(*(text.replace("\nunit Fg", known, 1) for text in texts))
    assert found.standing.missed == (str(skipped + 1),)
    assert [
        (one.what, one.note) for part in found.marks for one in part.items if "where it is" in one.note
    ] == []
