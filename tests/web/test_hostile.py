"""Hostile requests: the right status, one sentence, no trace, nothing written, and the page still answers."""

import re
import socket
import time

import pytest
from hostile_requests import ROWS

TRACES = re.compile(r"Traceback|File \"|\.py\b|site-packages|werkzeug|/home/|/srv/|0x[0-9a-f]{8}", re.IGNORECASE)


def files_of(server):
    return sorted(path for path in server.folder.rglob("*") if path.is_file())


def test_there_are_as_many_as_were_asked_for():
    assert len(ROWS) >= 200
    assert len({row.name for row in ROWS}) == len(ROWS)


def test_every_hostile_request_is_answered_as_it_should_be(server):
    before, wrong = files_of(server), []
    for row in ROWS:
        began = time.monotonic()
        try:
            answer = server.ask(row.path, row.method, row.body, **row.headers)
        except (ConnectionResetError, BrokenPipeError):  # it was refused before all of it was sent
            if 413 not in row.statuses:
                wrong.append((row.name, "cut off"))
            continue
        if answer.status not in row.statuses:
            wrong.append((row.name, answer.status, answer.body[:80]))
        if answer.status >= 400:
            text = answer.body.decode("utf-8", "replace")
            if 'id="job"' in text:  # the page itself, which says what is wrong with a result
                text = text[text.index('class="problem"') :]
            text = re.sub(r"<[^>]+>", " ", text.split("<body")[-1])
            if len(text) > 1_000 or TRACES.search(text):
                wrong.append((row.name, "too much said", text[:300]))
        if time.monotonic() - began > 20:
            wrong.append((row.name, "slow"))
    assert not wrong, "\n".join(map(str, wrong))
    assert files_of(server) == before
    assert server.ask("/static/page.css").status == 200


def test_the_check_finds_what_is_wrong():
    assert TRACES.search('  File "/srv/x.py", line 3, in f')
    assert not TRACES.search("Downstroke: found 'abc', expected a length such as 5mm.")


def test_slow_senders_and_half_sent_bodies_hold_nobody_up(server):
    opened = []
    for sent in (
        b"G", b"GET / HTTP/1.1\r\n", b"GET / HTTP/1.1\r\nHost: localhost\r\nX-",
        b"POST /keep HTTP/1.1\r\nHost: localhost\r\n",
        b"POST /keep HTTP/1.1\r\nHost: localhost\r\nContent-Length: 500\r\n\r\nlabel=", b"\x16\x03\x01\x02\x00\x01",
        b"POST /names HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\nffff\r\nab",
    ) * 8:  # fmt: skip
        connection = socket.create_connection(("127.0.0.1", server.port), timeout=10)
        connection.sendall(sent)
        opened.append(connection)
    began = time.monotonic()
    for _ in range(5):
        assert server.ask("/static/page.css").status == 200
    assert time.monotonic() - began < 10
    for connection in opened:
        connection.close()
    assert not [path for path in files_of(server) if path.name == "evil.toml"]


NO_REQUESTS = [b"\r\n\r\n", b"GET\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n", b"\x00\x01\x02\r\n\r\n"]


@pytest.mark.parametrize("request_line", NO_REQUESTS)
def test_what_is_no_request_is_answered_or_closed(server, request_line):
    with socket.create_connection(("127.0.0.1", server.port), timeout=10) as connection:
        connection.sendall(request_line)
        connection.shutdown(socket.SHUT_WR)
        answer = b"".join(iter(lambda: connection.recv(4_000), b""))
    assert answer == b"" or re.match(rb"HTTP/1\.\d 4\d\d ", answer)
    said = answer.partition(b"\r\n\r\n")[2].decode()
    assert said in {"", "That request could not be read.\n", "This page is not served under that name.\n"}
