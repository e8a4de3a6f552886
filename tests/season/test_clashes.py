"""What two logs say of one thing in two ways is told with both, and what is no clash is not."""

import pytest

from traverse.season.clashes import Clashes


def unit(letters, name, *, age=None, also=None, intrusive=False):
    return {"letters": letters, "name": name, "age": age, "also": also, "intrusive": intrusive}


def sample(label, line=30, words=None):
    return {"label": label, "station": "4", "line": line, "words": words}


def photo(number, line=31):
    return {"number": number, "station": "4", "line": line}


def point(name, east, *, epsg=25833):
    written = f"control {name} {east} E 5000 N"
    return {
        "name": name, "epsg": epsg, "line": 9, "written": written,
        "east": east, "north": 5000.0, "up": None, "lon": None, "lat": None,
    }  # fmt: skip


def found(**logs):
    """Kind and what of every clash; each log by its name, with its tables."""
    clashes = Clashes()
    for path, rows in logs.items():
        clashes.take(path, rows)
    return list(clashes.rows())


def kinds(rows):
    return [(one["kind"], one["what"]) for one in rows]


def test_a_sample_number_in_two_logs():
    (one,) = found(
        a={"samples": [sample("TG-1", words="shell band")]}, b={"samples": [sample("tg-1", line=44)]}
    )
    assert (one["kind"], one["what"], one["places"]) == ("sample", "TG-1", "a:30; b:44")
    assert "shell band" in one["words"]
    assert found(a={"samples": [sample("TG-1"), sample("TG-1")]}, b={"samples": [sample("TG-2")]}) == []


def test_a_photo_number_in_two_logs_of_one_party_only():
    mara, jon = {"people": [{"name": "Mara"}]}, {"people": [{"name": "Jon"}]}
    shot = {"photos": [photo("1123")]}
    assert kinds(found(a=mara | shot, b=mara | shot)) == [("photo", "1123")]
    assert found(a=mara | shot, b=jon | shot) == []


def test_a_known_point_with_other_figures_in_the_same_grid():
    (one,) = found(a={"known_points": [point("BM2", 100.0)]}, b={"known_points": [point("BM2", 130.0)]})
    assert (one["kind"], one["what"]) == ("known point", "BM2")
    assert "130.0 E" in one["words"]
    assert found(a={"known_points": [point("BM2", 100.0)]}, b={"known_points": [point("BM2", 100.0)]}) == []
    assert found(a={"known_points": [point("1", 100.0)]}, b={"known_points": [point("1", 130.0)]}) == []
    elsewhere = {"known_points": [point("BM2", 130.0, epsg=2193)]}
    assert found(a={"known_points": [point("BM2", 100.0)]}, b=elsewhere) == []


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ([unit("Sh", "Reed Shale")], [unit("Sh", "Rush Shale")], [("unit", "Sh")]),
        ([unit("Sh", "Reed Shale")], [unit("Rs", "Reed  shale")], [("unit", "Reed Shale")]),
        ([unit("Sh", "Reed Shale", also="B-Rs")], [unit("Rs", "Reed Shale")], []),
        ([unit("Sh", "Reed Shale", age="Jurassic")], [unit("Sh", "Reed Shale", age="Permian")], [("unit", "Sh")]),
        ([unit("Sh", "Reed Shale", age="Jurassic")], [unit("Sh", "Reed Shale")], []),
        (
            [unit("A", "Ash"), unit("B", "Bog"), unit("C", "Clay")],
            [unit("B", "Bog"), unit("C", "Clay"), unit("A", "Ash")],
            [("unit", "A, B"), ("unit", "A, C")],
        ),
        ([unit("A", "Ash"), unit("D", "Dike", intrusive=True)], [unit("D", "Dike", intrusive=True), unit("A", "Ash")], []),
    ],
    ids=["name", "letters", "also", "age", "no age", "order", "intrusive"],
)  # fmt: skip
def test_units(first, second, expected):
    assert kinds(found(a={"units": first}, b={"units": second})) == expected


def test_what_many_logs_say_is_told_by_the_first_of_them_and_how_many_more():
    logs = {f"log-{at}": {"units": [unit("Sh", "Reed Shale" if at else "Rush Shale")]} for at in range(50)}
    (one,) = found(**logs)
    assert one["words"] == "log-0: Rush Shale; log-1 and 48 more: Reed Shale"
