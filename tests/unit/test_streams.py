"""Standard output belongs to results: the library functions of the streams, one by one."""

from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

from matchmaker.cli.streams import note

if TYPE_CHECKING:
    import pytest

WRITES = """
import os, sys
from matchmaker.cli.streams import print_document, reserve_stdout
reserve_stdout()
os.write(1, b"banner of a C library\\n")
print("a result")
print_document("\\u017elut\\u00e1\\n")
"""


def _run(code: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, timeout=60, env=environment
    )


def test_what_c_libraries_print_goes_to_standard_error() -> None:
    done = _run(WRITES)
    assert b"banner" not in done.stdout
    assert b"banner of a C library\n" in done.stderr


def test_results_keep_their_order_and_documents_are_utf8() -> None:
    done = _run(WRITES, PYTHONIOENCODING="cp1252")
    assert done.stdout.decode("utf-8") == "a result\nžlutá\n"


def test_letters_a_terminal_lacks_are_replaced() -> None:
    code = (
        "from matchmaker.cli.streams import reserve_stdout\nreserve_stdout()\n"
        "print('\\u2192 A1 \\u2212 \\u2640')"
    )
    assert _run(code, PYTHONIOENCODING="cp1252").stdout == b"-> A1 - ?\n"


def test_messages_go_to_standard_error(capsys: pytest.CaptureFixture[str]) -> None:
    note("Wrote it.")
    read = capsys.readouterr()
    assert (read.out, read.err) == ("", "Wrote it.\n")
