"""Pages and API in one process, on one port."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
import streamlit as st
from starlette.applications import Starlette
from starlette.testclient import TestClient

from dashboard import server
from dashboard.place import VARIABLE
from ingest.errors import RefusedError

ROOT = Path(__file__).parents[2]
UP_SECONDS = 60


@pytest.fixture
def client(place, monkeypatch):
    # The routes alone: a process can hold the page server once only.
    monkeypatch.setenv(VARIABLE, str(place.data))
    return TestClient(Starlette(routes=server.ROUTES), raise_server_exceptions=False)


def free_port():
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return trial.getsockname()[1]


def read(address):
    with urllib.request.urlopen(address, timeout=5) as answer:  # noqa: S310 - our own server
        return answer.read()


def wait_until_up(address):
    end = time.monotonic() + UP_SECONDS
    while time.monotonic() < end:
        try:
            return read(f"{address}/healthz")
        except (urllib.error.URLError, ConnectionError):
            time.sleep(0.1)
    raise AssertionError(f"nothing answers at {address}")


def test_api_and_health_answer_without_pages(client):
    assert client.get("/healthz").text == "ok\n"
    assert client.get("/api/v1/modes").json()["rows"]
    description = client.get("/api/v1/openapi.json").json()
    assert description["servers"] == [{"url": "/api/v1"}]


def test_the_application_is_that_of_the_page_server():
    assert isinstance(server.make_app(), st.App)


@pytest.mark.parametrize("method", ["get", "post", "delete"])
@pytest.mark.parametrize("address", ["/api/none", "/api/v2/modes", "/api/v1/none"])
def test_an_address_without_a_route_is_a_problem_and_no_page(client, address, method):
    response = getattr(client, method)(address)

    assert response.status_code == 404
    assert response.headers["content-type"] == "application/problem+json"
    assert address in response.json()["detail"]


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "example.org", "::"])  # noqa: S104 - refused
def test_serving_to_the_network_is_refused_without_tokens(host):
    with pytest.raises(RefusedError, match="knows no tokens") as refused:
        server.serve(host, free_port())

    assert refused.value.exit_code == 16


def test_the_loopback_may_be_called_by_its_name():
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]

        with pytest.raises(RefusedError, match=f"Port {port} on localhost cannot be"):
            server.serve("localhost", port)


def test_the_address_given_is_served_and_a_signal_ends_the_process_well(monkeypatch):
    given = {}
    monkeypatch.setattr(st.App, "run", lambda _, config: given.update(config))
    before = signal.getsignal(signal.SIGTERM)
    port = free_port()
    try:
        server.serve("127.0.0.1", port)
        signal.raise_signal(signal.SIGTERM)  # the server hears it, the process stays
    finally:
        signal.signal(signal.SIGTERM, before)

    assert (given["server.address"], given["server.port"]) == ("127.0.0.1", port)
    assert given["browser.gatherUsageStats"] is False


def test_a_busy_port_is_refused_by_number_with_another_to_try():
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]

        with pytest.raises(RefusedError, match=f"Port {port} on 127.0.0.1") as refused:
            server.serve("127.0.0.1", port)

    assert f"--port {port + 1}" in refused.value.hint


@pytest.mark.parametrize("port", [0, -1, 65_536])
def test_a_number_that_is_no_port_is_refused(port):
    with pytest.raises(RefusedError, match=f"There is no port {port}"):
        server.serve("127.0.0.1", port)


def test_the_command_serves_until_told_to_end_and_then_ends_well(place):
    port = free_port()
    command = [sys.executable, "-c", "from dashboard.cli.main import main; main()"]
    process = subprocess.Popen(
        [*command, "--data", str(place.data), "serve", "--port", str(port)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        address = f"http://127.0.0.1:{port}"
        assert wait_until_up(address) == b"ok\n"
        assert b"rows" in read(f"{address}/api/v1/modes")
        assert b"<!doctype html>" in read(f"{address}/modes").lower()
        with pytest.raises(urllib.error.HTTPError, match="404"):
            read(f"{address}/api/none")
        process.send_signal(signal.SIGTERM)
        _, errors = process.communicate(timeout=30)
    finally:
        process.kill()

    assert process.returncode == 0, errors
    assert f"Pages: {address}/" in errors
    assert "Traceback" not in errors
