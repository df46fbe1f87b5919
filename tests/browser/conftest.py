"""A real server and a real browser, for what only they can show."""

import contextlib
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
ARTEFACTS = ROOT / "artefacts"
UP_SECONDS = 60
WIDE = {"width": 1400, "height": 900}
# A page below the root is looked for there first; the page server then looks above.
KNOWN = re.compile(r"/[a-z]+/_stcore/")


@pytest.fixture(scope="session")
def address(place):
    """Serve the invented fleet as a process of its own, and return its address."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = trial.getsockname()[1]
    command = [sys.executable, "-c", "from dashboard.cli.main import main; main()"]
    process = subprocess.Popen(
        [*command, "--data", str(place.data), "serve", "--port", str(port)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        cwd=place.data,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    found = f"http://127.0.0.1:{port}"
    try:
        _wait_until_up(found)
        yield found
    finally:
        process.terminate()
        try:
            process.wait(timeout=30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _wait_until_up(address):
    end = time.monotonic() + UP_SECONDS
    while time.monotonic() < end:
        with (
            contextlib.suppress(OSError),
            urllib.request.urlopen(f"{address}/healthz", timeout=5),  # noqa: S310 - our own server
        ):
            return
        time.sleep(0.1)
    raise AssertionError(f"nothing answers at {address}")


@pytest.fixture(scope="session")
def chromium():
    """Return Chromium; without it the browser tests are skipped, in CI they fail."""
    program = shutil.which("chromium")
    if program is None:
        words = "Chromium is not installed, so no page was opened in a browser."
        if os.environ.get("CI") == "true":
            pytest.fail(f"{words} In CI that is a failure.")
        pytest.skip(words)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=program,
            args=["--no-sandbox", "--disable-dev-shm-usage"],
        )
        yield browser
        browser.close()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """Keep whether the test failed, for the fixture that takes the picture."""
    report = yield
    if call.when == "call":
        item.stash[FAILED] = report.failed
    return report


FAILED = pytest.StashKey[bool]()


@pytest.fixture
def tab(chromium, address, request):
    """Return a browser tab; what it complains of is in `.complaints` afterwards."""
    context = chromium.new_context(viewport=WIDE, base_url=address)
    page = context.new_page()
    page.complaints = []
    page.hosts = set()
    page.on("console", lambda message: _note(page, message))
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.on("request", lambda asked: page.hosts.add(asked.url.split("/")[2]))
    yield page
    if request.node.stash.get(FAILED, False):
        ARTEFACTS.mkdir(exist_ok=True)
        page.screenshot(path=ARTEFACTS / f"{request.node.name}.png", full_page=True)
    context.close()


def _note(page, message):
    if message.type == "error" and not KNOWN.search(message.location["url"]):
        page.complaints.append(f"{message.text} {message.location['url']}")
