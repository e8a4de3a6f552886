"""What several test files need."""

import pytest

from traverse.compile import compile_log
from traverse.source import Source


def _no_files(path):
    raise FileNotFoundError(path)


@pytest.fixture(scope="session")
def compile_text():
    """A log's text through the whole chain, with no file to `use`; a line that should not be there stops the test."""

    def compile_it(text, *, errors=False):
        compiled = compile_log(Source(name="log.trav", text=text), load=_no_files)
        if not errors:
            assert not compiled.failed, [one.message for one in compiled.diagnostics]
        return compiled

    return compile_it
