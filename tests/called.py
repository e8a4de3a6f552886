"""A command called within the process of the tests: status and streams as a shell would have them, without its start."""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys

import pytest

from traverse.__main__ import main


def traverse(*arguments, stdin=None, cwd=None):
    """As `tests.test_commands.traverse`, which starts a process; for where the process is not what is tested."""
    streams = [io.TextIOWrapper(io.BytesIO(data), encoding="utf-8") for data in (stdin or b"", b"", b"")]
    given, said, told = streams
    with pytest.MonkeyPatch.context() as patch, contextlib.ExitStack() as held:
        patch.setattr(sys, "stdin", given)
        held.enter_context(contextlib.redirect_stdout(said))
        held.enter_context(contextlib.redirect_stderr(told))
        patch.chdir(cwd or os.getcwd())  # noqa: PTH109
        try:
            status = main([str(one) for one in arguments])
        except SystemExit as end:
            status = end.code or 0
    for one in (said, told):
        one.flush()
    return subprocess.CompletedProcess(arguments, status, said.buffer.getvalue(), told.buffer.getvalue())
