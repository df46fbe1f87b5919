"""The Python in the README runs as it stands there, and prints what is right."""

import re
import runpy
from pathlib import Path

import lifelines
import numpy as np
import pytest

README = Path(__file__).parents[2] / "README.md"
LINE = re.compile(
    r"(?P<model>.+): (?P<failed>\d+) failures of (?P<units>\d+) units, "
    r"10 % failed by day (?P<b10>\d+) \((?P<low>\d+) to (?P<high>\d+)\)"
)


def section(title):
    text = README.read_text("utf-8")
    return re.search(rf"\n## {title}\n(.*?)\n## ", text, re.DOTALL)[1]


def blocks(title, language):
    return re.findall(rf"```{language}\n(.*?)```", section(title), re.DOTALL)


@pytest.fixture
def printed_by(tmp_path, monkeypatch, capsys):
    """Return a function that runs a block in an empty folder and gives its output."""

    def run(code):
        file = tmp_path / "example.py"
        file.write_text(code, encoding="utf-8")
        monkeypatch.chdir(tmp_path)
        variables = runpy.run_path(str(file))
        return capsys.readouterr().out, variables

    return run


def test_the_notebook_example_prints_what_the_readme_says(printed_by):
    (code,) = blocks("From a notebook", "python")
    _, printed = re.findall(r"```\w*\n(.*?)```", section("From a notebook"), re.DOTALL)

    assert printed_by(code)[0] == printed


def test_the_notebook_example_needs_the_statistics_alone():
    (code,) = blocks("From a notebook", "python")

    modules = re.findall(r"^(?:from|import) (\S+)", code, re.MULTILINE)
    assert all(
        module == "numpy" or module.startswith("analytics.statistics.")
        for module in modules
    )


def test_the_sql_example_gives_the_ages_that_lifelines_finds(
    printed_by, tmp_path, place
):
    (code,) = blocks("Your own SQL", "python")
    (tmp_path / "demo-data").symlink_to(place.data)

    printed, variables = printed_by(code)

    with variables["db"] as db:
        lives = db.execute(
            "SELECT * FROM lives WHERE end_age > 0 OR mode IS NOT NULL"
        ).df()
    lines = [LINE.fullmatch(line) for line in printed.splitlines()]
    assert [line["model"] for line in lines] == sorted(lives["model"].unique())
    for line in lines:
        rows = lives[lives["model"] == line["model"]]
        b10 = age_failed(rows, 0.1)
        assert int(line["failed"]) == rows["mode"].notna().sum()
        assert int(line["units"]) == len(rows)
        assert int(line["b10"]) == pytest.approx(b10, abs=0.5 + 1e-4 * b10)
        assert int(line["low"]) < int(line["b10"]) < int(line["high"])


def age_failed(rows, fraction):
    """Return the age that lifelines finds, from a row for each unit."""
    lower = np.where(rows["lower_age"].isna(), rows["end_age"], rows["lower_age"])
    upper = np.where(rows["mode"].isna(), np.inf, rows["end_age"].clip(lower=1))
    fitter = lifelines.WeibullFitter()
    fitter.fit_interval_censoring(
        lower.astype(float), upper, entry=rows["entry_age"].astype(float)
    )
    return fitter.percentile(1 - fraction)
