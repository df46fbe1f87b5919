"""README names every page, route, command, setting, exit code and published table."""

import inspect
import re
from pathlib import Path

import pytest
import typer.main

from analytics.errors import InsufficientDataError
from analytics.rollup import publish, suggested
from dashboard.api.app import api
from dashboard.app import PAGES
from dashboard.cli.main import cli
from dashboard.cli.watching import NEW_ALARMS
from dashboard.settings import ModelSettings, Settings
from ingest import errors

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
COMMANDS = typer.main.get_command(cli).commands
# These act; they answer no question.
ACTIONS = {
    "backup", "demo", "fields", "forget", "ingest", "publish",
    "restore", "self-check", "serve", "template", "undo",
}  # fmt: skip


def section(title: str) -> str:
    return README.split(f"## {title}\n")[1].split("\n## ")[0]


def question_table() -> list[list[str]]:
    lines = [line for line in section("Questions").splitlines() if line[:1] == "|"]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def test_the_table_of_questions_names_every_page_and_no_other():
    named = {row[1] for row in question_table()} - {"-", "on every page"}

    assert named == {page.title for page in PAGES}


def test_the_table_of_questions_names_every_route_and_no_other():
    named = {row[2].strip("`") for row in question_table()}
    routes = {path.removeprefix("/") for path in api.openapi()["paths"]}

    assert named == routes


def test_the_table_of_questions_names_every_report_command_and_no_other():
    named = {row[3].strip("`").split()[1] for row in question_table()}

    assert named == set(COMMANDS) - ACTIONS


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself_with_an_example(name):
    assert "Example:" in COMMANDS[name].help
    assert f"mendfleet {name}" in COMMANDS[name].help


def test_readme_names_every_action():
    for name in ACTIONS:
        assert f"mendfleet {name}" in README


def test_readme_names_every_setting():
    for name in (*Settings.model_fields, *ModelSettings.model_fields):
        assert name in section("Settings"), name


def test_readme_names_every_exit_code():
    of_classes = {
        error.exit_code
        for _, error in inspect.getmembers(errors, inspect.isclass)
        if issubclass(error, errors.UserError)
    } | {InsufficientDataError.exit_code}

    named = {int(code) for code in re.findall(r"^\| (\d+) \|", README, re.MULTILINE)}

    assert named == {0, 1, NEW_ALARMS, *of_classes}


def test_readme_names_every_published_table():
    made = {*publish.FIRST_TABLES, *publish.THEN_TABLES, suggested.TABLE, "about"}

    rows = re.findall(r"^\| `(\w+)` \|", section("Published tables"), re.MULTILINE)

    assert set(rows) == made
