"""New alarms sent to a receiver on this machine: signed, once, and never a failure."""

import base64
import hashlib
import hmac
import http.server
import json
import socket
import threading
import time

import pytest

from dashboard import webhook
from dashboard.settings import Place
from ingest import store
from ingest.alarms import unsent
from tests.watch_answers import (
    ABOUT,
    LOT,
    SUPPLIER,
    alarm_row,
    store_with,
    watch_answer,
)

SECRET = "0123456789abcdef0123456789abcdef"  # noqa: S105 - of this test alone


class Receiver(http.server.ThreadingHTTPServer):
    """Keeps what it is sent; answers with the statuses given, the last one for ever."""

    def __init__(self):
        super().__init__(("127.0.0.1", 0), Answering)
        self.taken = []
        self.statuses = [204]
        self.pause_s = 0.0

    @property
    def url(self):
        return f"http://127.0.0.1:{self.server_port}/alarms?token=quiet"


class Answering(http.server.BaseHTTPRequestHandler):
    """Answers for a `Receiver`."""

    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.taken.append((self.path, dict(self.headers), body))
        waiting = self.server.statuses
        status = waiting.pop(0) if len(waiting) > 1 else waiting[0]
        for character in f"HTTP/1.0 {status} x\r\nLocation: {self.server.url}\r\n\r\n":
            time.sleep(self.server.pause_s)
            try:
                self.wfile.write(character.encode())
                self.wfile.flush()
            except OSError:  # the other side has hung up
                return

    def log_message(self, *_):
        """Say nothing."""


@pytest.fixture
def receiver():
    with Receiver() as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        yield server
        server.shutdown()
        thread.join()


@pytest.fixture
def place(tmp_path, receiver, monkeypatch):
    """Return a data folder with two new alarms and a webhook."""
    store_with(tmp_path, SUPPLIER, LOT)
    (tmp_path / "mendfleet.toml").write_text(f'[webhook]\nurl = "{receiver.url}"\n')
    monkeypatch.setenv(webhook.SECRET, SECRET)
    answering(monkeypatch, [alarm_row(SUPPLIER), alarm_row(LOT)])
    return Place(tmp_path)


def answering(monkeypatch, rows, **more):
    monkeypatch.setattr(
        "dashboard.webhook.watch",
        lambda _place, filters, *, only_new: watch_answer(
            rows, filters=filters, only_new=only_new, **more
        ),
    )


def not_sent(place):
    names = [SUPPLIER.alarm, LOT.alarm]
    return unsent(
        place.store,
        names,
        destination=webhook.destination(place.settings().webhook.url),
    )


def test_each_new_alarm_is_sent_once(place, receiver):
    assert webhook.send_new(place) is None
    assert webhook.send_new(place) is None

    told = [json.loads(body) for _, _, body in receiver.taken]
    assert [one["data"]["alarm"] for one in told] == [SUPPLIER.alarm, LOT.alarm]
    assert {path for path, _, _ in receiver.taken} == {"/alarms?token=quiet"}
    assert not_sent(place) == ()


def test_a_message_says_what_a_person_needs_and_names_no_case(place, receiver):
    webhook.send_new(place)

    _, headers, body = receiver.taken[0]
    told = json.loads(body)
    assert headers["Content-Type"] == "application/json"
    assert told["type"] == "alarm.new"
    assert told["data"] | {"n_cases": 14, "low": 1.6, "high": 5.1} == told["data"]
    assert told["data"]["first_seen_on"] == "2025-04-02"
    assert told["data"]["snapshot"] == ABOUT.snapshot
    assert told["data"]["false_alarms_per_year"] == 2.0
    assert told["data"]["data"] == "records"
    assert "no verdict" in told["data"]["caveat"]
    assert b"SECRET" not in body


def test_an_invented_fleet_is_named_so(place, receiver, monkeypatch):
    answering(monkeypatch, [alarm_row(SUPPLIER)], invented=True)

    webhook.send_new(place)

    assert json.loads(receiver.taken[0][2])["data"]["data"] == "invented data"


def test_the_receiver_can_check_the_signature(place, receiver):
    before = int(time.time())
    webhook.send_new(place)

    for _, headers, body in receiver.taken:
        moment = headers["webhook-timestamp"]
        basis = f"{headers['webhook-id']}.{moment}.".encode() + body
        digest = hmac.new(SECRET.encode(), basis, hashlib.sha256).digest()
        expected = f"v1,{base64.b64encode(digest).decode()}"
        assert headers["webhook-signature"] == expected
        assert before <= int(moment) <= time.time()


def test_what_was_not_taken_is_sent_by_the_next_run_under_the_same_id(place, receiver):
    receiver.statuses = [500, 200]

    problem = webhook.send_new(place)

    host = f"http://127.0.0.1:{receiver.server_port}"
    assert problem == (
        f"webhook: 1 of 2 new alarms not sent to {host} (it answered 500). The next "
        "run tries again."
    )
    assert not_sent(place) == (SUPPLIER.alarm,)
    assert webhook.send_new(place) is None
    ids = [headers["webhook-id"] for _, headers, _ in receiver.taken]
    assert ids[0] == ids[2] != ids[1]
    assert not_sent(place) == ()


def test_a_redirect_is_not_followed(place, receiver):
    receiver.statuses = [302]

    problem = webhook.send_new(place)

    assert "2 of 2 new alarms not sent" in problem
    assert "it answered 302" in problem
    assert len(receiver.taken) == 2


def test_where_nobody_answers_the_rest_waits(place, receiver):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        place.settings_file.write_text(f'[webhook]\nurl = "http://127.0.0.1:{port}/"\n')

        problem = webhook.send_new(place)

    assert (
        f"2 of 2 new alarms not sent to http://127.0.0.1:{port} (no answer:" in problem
    )
    assert receiver.taken == []
    assert len(not_sent(place)) == 2


def test_a_receiver_that_is_too_slow_is_given_up(place, receiver, monkeypatch):
    monkeypatch.setattr(webhook, "TIMEOUT_S", 0.3)
    receiver.pause_s = 0.1  # each wait is short, all of them are not

    begin = time.monotonic()
    problem = webhook.send_new(place)

    assert time.monotonic() - begin < 2
    assert "2 of 2 new alarms not sent" in problem
    assert len(receiver.taken) == 1


def test_https_is_not_spoken_with_one_that_cannot_prove_who_it_is(place, receiver):
    url = receiver.url.replace("http://", "https://")
    place.settings_file.write_text(f'[webhook]\nurl = "{url}"\n')

    assert "2 of 2 new alarms not sent" in webhook.send_new(place)
    assert receiver.taken == []


def test_without_a_secret_or_with_a_short_one_nothing_is_sent(
    place, receiver, monkeypatch
):
    monkeypatch.setenv(webhook.SECRET, "short")
    assert "MENDFLEET_WEBHOOK_SECRET has 5 bytes" in webhook.send_new(place)

    monkeypatch.delenv(webhook.SECRET)
    assert "MENDFLEET_WEBHOOK_SECRET has 0 bytes" in webhook.send_new(place)
    assert receiver.taken == []


def test_it_is_off_unless_the_settings_name_a_place(place, receiver):
    place.settings_file.unlink()

    assert webhook.send_new(place) is None
    assert receiver.taken == []


def test_alarms_noted_or_not_recorded_are_not_sent(place, receiver, monkeypatch):
    noted = alarm_row(SUPPLIER, state="acknowledged")
    unrecorded = alarm_row(LOT, first_seen_on=None, first_seen_snapshot=None)
    answering(monkeypatch, [noted, unrecorded])

    assert webhook.send_new(place) is None
    assert receiver.taken == []


def test_a_new_place_is_told_of_what_the_old_one_knows(place, receiver):
    webhook.send_new(place)
    place.settings_file.write_text(f'[webhook]\nurl = "{receiver.url}-two"\n')

    assert webhook.send_new(place) is None
    assert len(receiver.taken) == 4


def test_no_token_of_the_address_is_kept_in_the_store(place):
    webhook.send_new(place)

    assert b"quiet" not in place.store.read_bytes()


def test_a_store_that_is_busy_is_said_and_nothing_else_happens(place, receiver):
    with store.open_for_writing(place.store):
        problem = webhook.send_new(place)

    assert problem.startswith("webhook: ")
    assert "is being written by this process" in problem
    assert receiver.taken == []


def test_nothing_is_sent_before_the_first_watch(tmp_path, receiver, monkeypatch):
    monkeypatch.setenv(webhook.SECRET, SECRET)
    place = Place(tmp_path)
    place.settings_file.write_text(f'[webhook]\nurl = "{receiver.url}"\n')
    assert "There is no store" in webhook.send_new(place)

    with store.open_for_writing(place.store):
        pass

    assert webhook.send_new(place) is None
    assert receiver.taken == []
