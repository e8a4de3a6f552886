"""What the logs draw and export is what was accepted last."""

import pytest

from tests.reference import digests
from tests.reference.drawn import logs, sheets_in_turn, sheets_of, texts
from tests.thorough import some

LOGS = logs()
IN_TURN = [(path, sheets_in_turn(path)) for path in LOGS]
WAYS = some([*IN_TURN, *((path, sheets_of(path)) for path in LOGS)], IN_TURN)
"""In turn every day; each log in every way where all is asked for, as `renew.py --check` does."""


@pytest.mark.parametrize(
    ("path", "sheets"), WAYS, ids=lambda one: f"{len(one)} ways" if isinstance(one, tuple) else one.stem
)
def test_a_log_draws_and_exports_what_it_did(path, sheets):
    new = {name: digests.digest(text) for name, text in texts(path, sheets)}
    said = digests.differences(digests.without_sheets(digests.stored(), path, sheets), new)
    if said:
        pytest.fail(
            "\n  ".join([f"{path.stem} differs from tests/reference/digests.txt:", *said])
            + "\nto see how: python tests/reference/renew.py diff"
            "\nto accept it: python tests/reference/renew.py",
            pytrace=False,
        )


def test_logs_have_names_of_their_own_and_no_digest_is_left_of_another():
    names = [path.stem for path in LOGS]
    assert len(set(names)) == len(names)
    assert {name.split()[0] for name in digests.stored()} <= set(names)
