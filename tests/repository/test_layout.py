"""The repository keeps its own rules."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE",
    "ingest", "analytics", "dashboard", "synthetic_data", "tests",
}  # fmt: skip
LONGEST_FILE = 300


def tracked(*patterns: str) -> list[Path]:
    names = subprocess.run(
        ["git", "ls-files", "--", *patterns],
        cwd=ROOT, check=True, capture_output=True, text=True,
    ).stdout.splitlines()  # fmt: skip
    return [ROOT / name for name in names if (ROOT / name).exists()]


def test_the_top_level_holds_exactly_what_was_agreed():
    found = {path.relative_to(ROOT).parts[0] for path in tracked()}

    assert {name for name in found if not name.startswith(".")} == TOP_LEVEL


def test_no_source_file_is_longer_than_agreed():
    lengths = {
        path.relative_to(ROOT).as_posix(): len(path.read_text("utf-8").splitlines())
        for path in tracked("*.py", "*.sql")
    }

    assert {k: n for k, n in lengths.items() if n > LONGEST_FILE} == {}


@pytest.mark.parametrize(
    "file",
    tracked("analytics/rollup/*.sql"),
    ids=lambda file: f"{file.parent.name}/{file.stem}",
)
def test_every_sql_file_says_what_it_is(file):
    head = [
        line for line in file.read_text("utf-8").splitlines() if line.startswith("--")
    ]

    assert head[0].startswith(f"-- {file.stem}: ")
    assert any(line.startswith("-- Grain    ") for line in head)
    assert any(line.startswith("-- Reads    ") for line in head)
    if file.parent.name == "sql":
        text = file.read_text("utf-8")
        assert re.search(
            rf"^CREATE (TABLE|VIEW) {file.stem} (AS|\()$", text, re.MULTILINE
        )
        assert any(line.startswith("-- Key      ") for line in head)
        assert any(line.startswith("-- Feeds    ") for line in head)


@pytest.mark.parametrize(
    "file", tracked("tests/published/test_*.py"), ids=lambda file: file.stem
)
def test_every_published_test_names_its_source(file):
    docstring = file.read_text("utf-8").split('"""')[1]

    for word in ("Data", "Values", "Read", "Digits"):
        assert re.search(rf"^{word} +\S", docstring, re.MULTILINE), word
    assert not re.search(r"^Read +from memory", docstring, re.MULTILINE)


def test_the_check_runs_the_readme_s_test_command_to_the_letter():
    readme = (ROOT / "README.md").read_text("utf-8")
    command = next(line for line in readme.splitlines() if " -m pytest " in line)

    assert command in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()
