"""What a refusal prints and the code it gives the shell, error by error."""

from __future__ import annotations

from dataclasses import replace

import pytest

from matchmaker.cli.failure import report_failure
from matchmaker.errors import (
    CellMend,
    ExitCode,
    Fault,
    InputError,
    MatchmakerError,
    NoPlanError,
    SolverStoppedError,
    UsageError,
    WouldOverwriteError,
)

FAULT = Fault(
    kind="bad-sex",
    file="birds.csv",
    row=4,
    column="sex",
    value="maybe",
    problem="maybe is not understood here",
    mend="write cock or hen",
)


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (UsageError("no bird X is in the tables"), 2, "matchmaker: no bird X is in the tables"),
        (InputError((FAULT,)), 3, "1 fault (must be mended first):"),
        (NoPlanError(("pens: places", "wish in row 2")), 4, "  wish in row 2"),
        (SolverStoppedError("time ran out before a plan was found"), 5, "before a plan was found"),
        (WouldOverwriteError("plan.csv exists already"), 6, "plan.csv exists already"),
    ],
)
def test_every_error_has_its_code_and_its_words(
    capsys: pytest.CaptureFixture[str], error: MatchmakerError, code: int, said: str
) -> None:
    assert report_failure(error, ["plan"]) == code
    printed = capsys.readouterr()
    assert said in printed.err
    assert printed.out == ""


def test_safe_mends_are_spoken_of(capsys: pytest.CaptureFixture[str]) -> None:
    mend = CellMend(table="birds", row=4, column="sex", was="maybe", becomes="hen")
    report_failure(InputError((replace(FAULT, mends=(mend,), safe=True),)), ["plan"])
    assert "can be mended safely: matchmaker check --fix" in capsys.readouterr().err
    report_failure(InputError((replace(FAULT, mends=(mend,)),)), ["plan"])
    assert "mended safely" not in capsys.readouterr().err


def test_the_codes_are_those_that_scripts_rely_on() -> None:
    assert {code.name: int(code) for code in ExitCode} == {
        "DONE": 0,
        "BUG": 1,
        "USAGE": 2,
        "FAULTS": 3,
        "NO_PLAN": 4,
        "STOPPED": 5,
        "WOULD_OVERWRITE": 6,
        "INTERRUPTED": 130,
        "NO_READER": 141,
    }
