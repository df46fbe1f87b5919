"""A fault of the program itself ends with a code of its own and says so."""

import pytest

from dashboard.cli import main as command


def test_a_crash_does_not_end_as_rows_set_aside(monkeypatch, capsys):
    def crash():
        raise ZeroDivisionError("by us")

    monkeypatch.setattr(command, "cli", crash)

    with pytest.raises(SystemExit) as stopped:
        command.main()

    assert stopped.value.code == 16
    told = capsys.readouterr().err
    assert "ZeroDivisionError: by us" in told
    assert "fault of the program" in told
