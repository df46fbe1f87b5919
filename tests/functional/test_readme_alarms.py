"""What the README says of alarms works as it stands there."""

import datetime as dt
import re
import runpy
import shlex
from pathlib import Path

import pytest
import typer.main

from dashboard.cli.main import cli
from dashboard.settings import Place
from dashboard.webhook import Message

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
SECTION = README.split("\n## Who is told\n")[1].split("\n## ")[0]
SECRET = "0123456789abcdef0123456789abcdef"  # noqa: S105 - of this test alone
MESSAGE = Message(
    "0c7f1f9e-2b3c-5d4e-8f60-112233445566",
    dt.datetime(2025, 4, 2, tzinfo=dt.UTC),
    b'{"type": "alarm.new"}',
)


def blocks(language):
    found = re.findall(r"```(\w*)\n(.*?)```", SECTION, re.DOTALL)
    return [text for word, text in found if word == language]


def test_the_receiver_s_check_takes_what_is_sent_and_nothing_else(tmp_path):
    (code,) = blocks("python")
    file = tmp_path / "receiver.py"
    file.write_text(code, encoding="utf-8")
    is_genuine = runpy.run_path(str(file))["is_genuine"]
    headers = MESSAGE.headers(SECRET.encode())

    assert is_genuine(headers, MESSAGE.body, SECRET)
    assert not is_genuine(headers, MESSAGE.body + b" ", SECRET)
    assert not is_genuine(headers, MESSAGE.body, SECRET[::-1])
    for name in ("webhook-id", "webhook-timestamp", "webhook-signature"):
        other = headers | {name: headers[name][::-1]}
        assert not is_genuine(other, MESSAGE.body, SECRET)


def test_the_settings_shown_are_taken(tmp_path):
    (text,) = blocks("toml")
    (tmp_path / "mendfleet.toml").write_text(text, encoding="utf-8")

    webhook = Place(tmp_path).settings().webhook

    assert webhook is not None
    assert webhook.url == "https://receiver.example/alarms"


def commands():
    """Return each call of mendfleet in the section, as a list of words."""
    shell = re.findall(r"mendfleet [^;|>\n]*", "\n".join(blocks("")))
    inline = re.findall(r"(?<!`)`(mendfleet [^`]*)`", SECTION)
    found = [words for words in [*shell, *inline] if " forget" not in words]
    return [shlex.split(words) for words in found]


@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_every_command_shown_is_one_that_parses(words):
    command = typer.main.get_command(cli)
    context = command.make_context(
        "mendfleet", list(words[1:]), resilient_parsing=False
    )
    rest = [*context._protected_args, *context.args]  # noqa: SLF001 - what comes next
    while rest:
        name, *rest = rest
        command = command.commands[name]
        context = command.make_context(name, list(rest), parent=context)
        rest = [*getattr(context, "_protected_args", ()), *context.args]


def test_the_line_for_cron_has_a_time_of_five_parts():
    (line,) = (line for line in SECTION.splitlines() if line.startswith("30 5"))

    assert re.match(r"\d+ \d+ \* \* \* mendfleet ", line)
