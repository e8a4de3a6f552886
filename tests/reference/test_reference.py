"""What the logs draw and export is what was accepted last."""

import pytest

from tests.reference import digests
from tests.reference.drawn import logs, texts

LOGS = logs()


@pytest.mark.parametrize("path", LOGS, ids=lambda path: path.stem)
def test_a_log_draws_and_exports_what_it_did(path):
    new = {name: digests.digest(text) for name, text in texts(path)}
    said = digests.differences(digests.of_logs(digests.stored(), [path]), new)
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
