"""New alarms, sent to a program of the user's own: off unless the settings name it.

One message for each alarm, signed with a secret that both sides know (HMAC, RFC 2104).
What could not be sent is sent by the next run under the same id, so a receiver that
remembers ids takes each alarm once. Nothing here makes a command fail.
"""

import base64
import datetime as dt
import hashlib
import hmac
import http.client
import json
import os
import socket
import ssl
import threading
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from http import HTTPStatus
from importlib.metadata import version
from pathlib import Path
from urllib.parse import SplitResult, urlsplit

from dashboard.filters import Filters
from dashboard.queries.answer import Answer, Row, plain
from dashboard.queries.watch import watch
from dashboard.queries.watch_feed import lasting_id
from dashboard.settings import Place
from ingest.alarms import mark_sent, recorded_alarms, unsent
from ingest.errors import UserError

SECRET = "MENDFLEET_WEBHOOK_SECRET"  # noqa: S105 - the name of the variable
LEAST_SECRET = 32  # bytes; RFC 2104, section 3: not less than the digest has
TIMEOUT_S = 10.0
AGAIN = "The next run tries again."
CAVEAT = "An excess, associated with what is named: no verdict."
# No case, serial or note: what leaves the house speaks of groups alone.
TOLD = (
    "alarm", "failure", "mode", "group", "dimension", "value", "where", "severity",
    "since", "alarmed", "n_cases", "expected", "ratio", "low", "high",
    "times_per_year", "first_seen_on", "sentence",
)  # fmt: skip


class SendError(Exception):
    """A message was not taken; says why."""


class UnreachableError(SendError):
    """Nobody answers: the next message would wait as long for nothing."""


@dataclass(frozen=True, slots=True)
class Message:
    """What is sent.

    Attributes
    ----------
    id : str
        The same whenever this alarm is sent.
    at : datetime.datetime
        UTC.
    body : bytes
        JSON.
    """

    id: str
    at: dt.datetime
    body: bytes

    def headers(self, secret: bytes) -> dict[str, str]:
        """Return the headers, the signature over id, time and body among them."""
        moment = str(int(self.at.timestamp()))
        digest = signed(secret, f"{self.id}.{moment}.".encode() + self.body)
        return {
            "Content-Type": "application/json",
            "User-Agent": f"mendfleet/{version('mendfleet')}",
            "webhook-id": self.id,
            "webhook-timestamp": moment,
            "webhook-signature": f"v1,{base64.b64encode(digest).decode()}",
        }


def signed(key: bytes, message: bytes) -> bytes:
    """Return the HMAC-SHA-256 of a message (RFC 2104), 32 bytes."""
    return hmac.digest(key, message, hashlib.sha256)


def send_new(place: Place) -> str | None:
    """Send the alarms that nobody has noted and that were not sent before.

    Parameters
    ----------
    place : Place

    Returns
    -------
    str or None
        What kept one from being sent, in a sentence; None if all went well, or no
        place is named.
    """
    settings = place.settings()
    if settings.webhook is None:
        return None
    secret = os.environ.get(SECRET, "").encode()
    if len(secret) < LEAST_SECRET:
        return (
            f"webhook: nothing was sent: {SECRET} has {len(secret)} bytes, and a "
            f"secret has {LEAST_SECRET} or more. {AGAIN}"
        )
    try:
        return _sent(place, settings.webhook.url, secret)
    except UserError as error:
        return f"webhook: {error.message} {AGAIN}"


def _sent(place: Place, url: str, secret: bytes) -> str | None:
    found = recorded_alarms(place.store, wait_s=place.wait_s)
    if found.watch is None:
        return None
    answer = watch(place, Filters(), only_new=True)
    known = {one.key.alarm for one in found.alarms}
    new = {
        str(row["alarm"]): row
        for row in answer.rows
        # Without it the store was busy, and what was noted is not known.
        if row["first_seen_snapshot"] and row["alarm"] in known
    }
    to = destination(url)
    waiting = unsent(place.store, new, destination=to, wait_s=place.wait_s)
    reasons = []
    for n_done, alarm in enumerate(waiting):
        at = dt.datetime.now(dt.UTC)
        body = _body(answer, new[alarm], at)
        message = Message(str(lasting_id(found.watch, alarm)), at, body)
        try:
            _post(urlsplit(url), message.headers(secret), message.body)
        except UnreachableError as error:
            reasons += [str(error)] * (len(waiting) - n_done)
            break
        except SendError as error:
            reasons.append(str(error))
        else:
            _mark(place.store, alarm, to, at, wait_s=place.wait_s)
    return _sentence(reasons, n_waiting=len(waiting), to=to)


def _mark(
    store_file: Path, alarm: str, to: str, at: dt.datetime, *, wait_s: float
) -> None:
    sent_at = at.replace(tzinfo=None)
    mark_sent(store_file, [alarm], destination=to, sent_at=sent_at, wait_s=wait_s)


def _body(answer: Answer, row: Row, at: dt.datetime) -> bytes:
    about = answer.about
    data: dict[str, object] = {name: row[name] for name in TOLD}
    data |= {
        "caveat": CAVEAT,
        "false_alarms_per_year": answer.more["false_alarms_per_year"],
        "snapshot": about.snapshot if about else None,
        "as_of": about.as_of if about else None,
        "data": "invented data" if answer.invented else "records",
    }
    told = {
        "type": "alarm.new",
        "timestamp": f"{at:%Y-%m-%dT%H:%M:%SZ}",
        "data": data,
    }
    return json.dumps(plain(told), ensure_ascii=False).encode()


def destination(url: str) -> str:
    """Return how the store names an address: no token of it is kept."""
    parts = urlsplit(url)
    host = parts.netloc.lower()
    return f"{parts.scheme}://{host}#{hashlib.sha256(url.encode()).hexdigest()[:8]}"


def _post(url: SplitResult, headers: dict[str, str], body: bytes) -> None:
    # Straight to the receiver: this client follows no redirect and asks no proxy.
    connection = _connection(url)
    path = (url.path or "/") + (f"?{url.query}" if url.query else "")
    # The time limit of a socket is for each wait; this one is for the whole.
    limit = threading.Timer(TIMEOUT_S, _cut, [connection])
    limit.start()
    try:
        connection.request("POST", path, body, headers)
        status = connection.getresponse().status
    except (OSError, http.client.HTTPException) as error:
        why = str(error) or type(error).__name__
        raise UnreachableError(f"no answer: {why}") from None
    finally:
        limit.cancel()
        connection.close()
    if not HTTPStatus.OK <= status < HTTPStatus.MULTIPLE_CHOICES:
        raise SendError(f"it answered {status}")


def _connection(url: SplitResult) -> http.client.HTTPConnection:
    host = url.hostname or ""
    if url.scheme == "https":
        return http.client.HTTPSConnection(
            host, url.port, timeout=TIMEOUT_S, context=ssl.create_default_context()
        )
    return http.client.HTTPConnection(host, url.port, timeout=TIMEOUT_S)


def _cut(connection: http.client.HTTPConnection) -> None:
    with suppress(OSError, AttributeError):  # not connected yet, or done already
        connection.sock.shutdown(socket.SHUT_RDWR)


def _sentence(reasons: Sequence[str], *, n_waiting: int, to: str) -> str | None:
    if not reasons:
        return None
    place, _, _ = to.partition("#")
    return (
        f"webhook: {len(reasons)} of {n_waiting} new alarms not sent to {place} "
        f"({reasons[0]}). {AGAIN}"
    )
