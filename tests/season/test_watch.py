"""An index that is kept true while logs are typed."""

from tests.season.made import day, season
from traverse.season.index_season import index_season
from traverse.season.watch import watch


class Typing:
    """A party that types between two looks, and at last presses the key that stops it."""

    def __init__(self, *typed):
        self.typed = list(typed)
        self.slept = 0

    def __call__(self, seconds):
        self.slept += 1
        if seconds < 1.0:
            return
        if not self.typed:
            raise KeyboardInterrupt
        self.typed.pop(0)()


def test_what_was_saved_is_read_and_a_key_stops_it(tmp_path):
    season(tmp_path, 2)
    output = tmp_path / "season"
    log = tmp_path / "party-a" / "day-00000.trav"
    read = []

    def once():
        read.append(index_season(tmp_path, processes=1))
        return 0

    typing = Typing(
        lambda: log.write_text(day(0, title="One more name"), "utf-8"),
        lambda: None,
        lambda: log.write_text("notation 1\nto 2 ", "utf-8"),
        lambda: (tmp_path / "new.trav").write_text(day(12), "utf-8"),
        log.unlink,
    )
    assert watch(tmp_path, output, once, sleep=typing) == 0
    assert [(one.read, one.gone, one.standing["counted"]) for one in read] == [
        (2, 0, 2),
        (1, 0, 2),
        (1, 0, 1),
        (1, 0, 2),
        (0, 1, 2),
    ]


def test_it_ends_at_once_where_nothing_can_be_indexed(tmp_path):
    assert watch(tmp_path, tmp_path / "season", lambda: 2, sleep=lambda seconds: None) == 2
