"""What the server lets in, over a real socket: hosts, origins, sizes, rates, pairing; and nonsense."""

import http.client
import json
import socket
import threading
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from assistant.board import connections, feed, serving
from assistant.board.guarding import MOST_AT_ONCE, Rates, host_allowed, is_local
from assistant.board.pairing import COOKIE, MOST_CODES, OPEN_S, TRIES, Pairing
from assistant.board.serving import BoardServer
from assistant.clock import ScriptedClock
from assistant.errors import SettingsError
from tests.browser.wall_stand import WallStand, wall_stand

Answer = tuple[int, dict[str, str], bytes]
SECRET = "not for anybody"


@pytest.fixture(scope="module")
def wall(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WallStand]:
    """A page with buttons, and a file beside it that nobody may have."""
    folder = tmp_path_factory.mktemp("home")
    (folder / "settings.toml").write_text(SECRET)
    with wall_stand(folder, touch=True) as stand:
        stand.say("new batch fifteen hundred")
        yield stand


def ask(stand: WallStand, method: str, path: str, body: bytes | None = None, **headers: str) -> Answer:
    """One request, and its whole answer; time goes on, so that the rate is never what refuses."""
    stand.clock.move(1)
    connection = http.client.HTTPConnection("127.0.0.1", stand.server.port, timeout=5)
    try:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request(method, path, body, named)
        answer = connection.getresponse()
        return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()
    finally:
        connection.close()


def press(stand: WallStand, **changes: str) -> Answer:
    """A press as the page sends it, with some headers changed."""
    assert stand.touch is not None
    headers = {
        "Origin": f"http://127.0.0.1:{stand.server.port}",
        "Content_Type": "application/json",
        "X_Crumbcall_Token": stand.touch.token,
        **changes,
    }
    return ask(stand, "POST", "/press", json.dumps({"key": "none"}).encode(), **headers)


def test_every_answer_carries_the_policy(wall: WallStand) -> None:
    for path in ("/", "/nothing", "/static/wall.js", "/pair"):
        _, headers, body = ask(wall, "GET", path)
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert b"https:" not in body, "nothing is wanted from elsewhere"
        assert b"style=" not in body
        assert b"<script>" not in body


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "localhost.evil.example", "a b", ""]
)
def test_a_name_that_is_not_ours_is_refused(host: str, wall: WallStand) -> None:
    # DNS rebinding: the page of another name must not reach this station.
    status, _, body = ask(wall, "GET", "/", Host=host)
    assert status in (400, 421)
    assert body.count(b"\n") <= 1
    assert not host_allowed(host, {"localhost"})


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "127.0.0.1:8036", "192.168.1.20:80", "[::1]:8036", "LOCALHOST", "kitchen.local:1"]
)
def test_addresses_in_figures_and_own_names_are_let_in(host: str) -> None:
    assert host_allowed(host, {"localhost", "kitchen.local"})


def test_only_the_machine_itself_is_local() -> None:
    assert [is_local(one) for one in ("127.0.0.1", "::1", "::ffff:127.0.0.1", "127.8.8.8")] == [True] * 4
    assert [is_local(one) for one in ("192.168.1.2", "::ffff:192.168.1.2", "", "localhost")] == [False] * 4


@pytest.mark.parametrize(
    ("changes", "status"),
    [
        ({}, 409),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": ""}, 403),
        ({"X_Crumbcall_Token": "wrong"}, 403),
        ({"X_Crumbcall_Token": ""}, 403),
    ],
)
def test_a_press_must_come_from_the_page(changes: dict[str, str], status: int, wall: WallStand) -> None:
    assert press(wall, **changes)[0] == status


@pytest.mark.parametrize("body", [b"", b"{}", b"[]", b'{"key": 1}', b"[" * 3000, b"\xff", b'"x"'])
def test_a_press_without_a_button_is_one_line(body: bytes, wall: WallStand) -> None:
    assert wall.touch is not None
    origin = f"http://127.0.0.1:{wall.server.port}"
    status, _, text = ask(wall, "POST", "/press", body, Origin=origin, X_Crumbcall_Token=wall.touch.token)
    assert (status, text) == (400, b"The request has no button; press on the page.\n")


def test_what_is_too_large_is_refused(wall: WallStand) -> None:
    origin = f"http://127.0.0.1:{wall.server.port}"
    assert ask(wall, "POST", "/press", b"x" * 5000, Origin=origin)[0] == 413
    assert ask(wall, "GET", f"/{'x' * 2000}")[0] == 414
    assert ask(wall, "GET", "/", X_Long="x" * 20_000)[0] in (400, 431)
    assert ask(wall, "DELETE", "/")[0] == 405


def test_a_body_without_a_length_is_cut(wall: WallStand) -> None:
    assert wall.touch is not None
    wall.clock.move(1)
    with socket.create_connection(("127.0.0.1", wall.server.port), timeout=5) as raw:
        origin = f"127.0.0.1:{wall.server.port}"
        head = (
            f"POST /press HTTP/1.1\r\nHost: {origin}\r\nOrigin: http://{origin}\r\nConnection: close\r\n"
            f"X-Crumbcall-Token: {wall.touch.token}\r\nTransfer-Encoding: chunked\r\n\r\n"
        )
        raw.sendall(head.encode() + b"1388\r\n" + b"x" * 5000 + b"\r\n0\r\n\r\n")
        assert raw.recv(100).startswith(b"HTTP/1.1 400 ")


def test_a_rate_is_limited_and_comes_back() -> None:
    clock = ScriptedClock()
    rates = Rates(clock.monotonic)
    assert sum(rates.allows("10.0.0.2") for _ in range(200)) == MOST_AT_ONCE
    assert rates.allows("10.0.0.3"), "others are not held up"
    clock.move(1)
    assert rates.allows("10.0.0.2")


def test_who_asks_too_often_is_told_so(tmp_path: Path) -> None:
    with wall_stand(tmp_path) as stand:
        found = []
        for _ in range(int(MOST_AT_ONCE) + 1):
            connection = http.client.HTTPConnection("127.0.0.1", stand.server.port, timeout=5)
            connection.request("GET", "/nothing")
            answer = connection.getresponse()
            found.append((answer.status, answer.read()))
            connection.close()
        assert found[0][0] == 404
        assert found[-1] == (
            429,
            b"Too many requests from this screen; wait a moment and load the page again.\n",
        )


def test_too_many_viewers_are_told_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feed, "MOST_VIEWERS", 1)
    with wall_stand(tmp_path) as stand:
        first = http.client.HTTPConnection("127.0.0.1", stand.server.port, timeout=5)
        first.request("GET", "/events")
        stream = first.getresponse()
        assert stream.readline() == b"retry: 1000\n"
        status, headers, body = ask(stand, "GET", "/events")
        assert (status, headers["retry-after"]) == (503, "5")
        assert body.count(b"\n") == 1
        stream.close()
        first.close()


def test_the_page_beside_takes_no_press(tmp_path: Path) -> None:
    with wall_stand(tmp_path) as stand:
        status, _, body = ask(stand, "POST", "/press", b"{}")
        assert (status, body) == (405, b"Found POST, allowed are GET, HEAD.\n")
        page = ask(stand, "GET", "/")[2]
        assert b"pair" not in page
        assert b"button" not in page


# --- pairing


def test_a_screen_is_paired_by_the_code_of_the_wall(tmp_path: Path) -> None:
    clock = ScriptedClock()
    pairing = Pairing(clock.monotonic, tmp_path / "screens.json")
    assert pairing.code == ""
    assert pairing.pair("000000") is None, "nobody asked"
    assert pairing.ask()
    code = pairing.code
    assert len(code) == 6
    token = pairing.pair(code)
    assert token is not None
    assert pairing.knows(token)
    assert not pairing.knows("")
    assert pairing.pair(code) is None, "a code counts once"
    again = Pairing(clock.monotonic, tmp_path / "screens.json")
    assert again.knows(token), "a screen stays paired over a restart"
    assert token not in (tmp_path / "screens.json").read_text()


def test_codes_run_out() -> None:
    clock = ScriptedClock()
    pairing = Pairing(clock.monotonic)
    pairing.ask()
    clock.move(OPEN_S)
    assert pairing.code == ""
    tried = 0
    while pairing.ask():
        wrong = "000000" if pairing.code != "000000" else "000001"
        assert pairing.pair(wrong) is None
        tried += 1
    # A million codes, and thirty guesses an hour at most.
    assert tried <= TRIES * MOST_CODES
    clock.move(3600)
    assert pairing.ask()


def test_pairing_by_the_page(wall: WallStand) -> None:
    origin = f"http://127.0.0.1:{wall.server.port}"
    assert b"Code at the station" in ask(wall, "GET", "/pair")[2]
    code = wall.pairing.code
    wrong = f"{(int(code) + 1) % 10**6:06}"
    assert ask(wall, "POST", "/pair", f"code={wrong}".encode(), Origin=origin)[0] == 403
    status, headers, _ = ask(wall, "POST", "/pair", f"code={code}".encode(), Origin=origin)
    assert (status, headers["location"]) == (303, "/")
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert wall.pairing.knows(cookie.removeprefix(f"{COOKIE}=").partition(";")[0])


# --- the address


def test_a_port_that_is_taken_is_one_clear_line(wall: WallStand) -> None:
    taken = wall.server.port
    with pytest.raises(
        SettingsError, match=rf"^The page can't be served at 127.0.0.1 port {taken} \(.*--host.$"
    ):
        BoardServer(wall.app, wall.feed, "127.0.0.1", taken)


def test_a_host_that_is_none_is_one_clear_line(wall: WallStand) -> None:
    with pytest.raises(SettingsError, match="choose another with --port or --host"):
        BoardServer(wall.app, wall.feed, "no.such.host.invalid", 0)


# --- nonsense


PATHS = st.one_of(
    st.text(st.characters(min_codepoint=33, max_codepoint=126), max_size=60),
    st.lists(
        st.sampled_from(["..", "static", "%2e%2e", "settings.toml", "%00", "press", "a;x", "", "%2f", "%ff"]),
        max_size=6,
    ).map("/".join),
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    method=st.sampled_from(["GET", "HEAD", "POST", "PUT", "OPTIONS", "TRACE"]),
    path=PATHS,
    body=st.binary(max_size=200),
    headers=st.dictionaries(
        st.sampled_from(
            ["Cookie", "Origin", "Host", "X-Crumbcall-Token", "Content-Type", "Content-Length", "Range"]
        ),
        st.text(st.characters(min_codepoint=32, max_codepoint=255), max_size=30).map(str.strip),
        max_size=4,
    ),
)
def test_nonsense_is_refused_in_one_line(
    method: str, path: str, body: bytes, headers: dict[str, str], wall: WallStand
) -> None:
    """No 500, no traceback, no file of the disk, whatever is asked."""
    if path.partition("?")[0].strip("/") == "events":
        return  # goes on for ever, by intent
    wall.clock.move(1)
    head = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    length = "" if "Content-Length" in headers else f"Content-Length: {len(body)}\r\n"
    host = "" if "Host" in headers else f"Host: 127.0.0.1:{wall.server.port}\r\n"
    with socket.create_connection(("127.0.0.1", wall.server.port), timeout=5) as raw:
        raw.sendall(
            f"{method} /{path} HTTP/1.1\r\n{host}{head}{length}Connection: close\r\n\r\n".encode("latin-1")
            + body
        )
        if "Content-Length" in headers:  # more may be announced than comes
            raw.shutdown(socket.SHUT_WR)
        answer = b""
        while piece := raw.recv(65536):
            answer += piece
    assert answer.startswith(b"HTTP/1.1 ") or "Content-Length" in headers
    assert not answer.startswith(b"HTTP/1.1 5"), answer[:300]
    assert b"Traceback" not in answer
    assert SECRET.encode() not in answer


def test_a_request_that_never_ends_is_not_waited_for(
    wall: WallStand, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "SLOWEST_REQUEST_S", 0.0)
    with socket.create_connection(("127.0.0.1", wall.server.port), timeout=5) as slow:
        slow.sendall(b"GET / HTTP/1.1\r\nHo")
        with suppress(ConnectionResetError):
            assert slow.recv(1) == b""


def test_one_address_can_not_take_all_connections(wall: WallStand, monkeypatch: pytest.MonkeyPatch) -> None:
    here = ("127.0.0.1", wall.server.port)
    with monkeypatch.context() as patched, ExitStack() as open_ones:
        patched.setattr(connections, "MOST_OF_ONE_ADDRESS", 3)
        for _ in range(3):
            open_ones.enter_context(socket.create_connection(here, timeout=5)).sendall(b"GET / HT")
        further = open_ones.enter_context(socket.create_connection(here, timeout=5))
        with suppress(ConnectionResetError):
            assert further.recv(1) == b""
    assert ask(wall, "GET", "/")[0] == 200


def test_who_waits_when_the_page_ends_leaves_no_traceback(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(serving, "_GRACE_S", 0)
    unserved = WallStand(tmp_path)
    unserved.server.close()
    began, go_on, stop = threading.Event(), threading.Event(), threading.Event()

    def slow(_request: Request) -> Response:
        began.set()
        go_on.wait(10)
        return Response()

    server = BoardServer(Starlette(routes=[Route("/", slow)]), unserved.feed, "127.0.0.1", 0)
    running = threading.Thread(target=server.run, args=(stop,))
    running.start()
    with socket.create_connection(("127.0.0.1", server.port), timeout=5) as waiting:
        waiting.sendall(b"GET / HTTP/1.1\r\nHost: here\r\n\r\n")
        assert began.wait(5)
        stop.set()
        running.join(10)
        go_on.set()
    assert not running.is_alive()
    assert [one for one in caplog.records if one.name == "uvicorn.error"] == []


def test_nonsense_writes_no_line_into_the_log(wall: WallStand, capfd: pytest.CaptureFixture[str]) -> None:
    with socket.create_connection(("127.0.0.1", wall.server.port), timeout=5) as client:
        client.sendall(b"\x16\x03nonsense\r\n\r\n")
        assert client.recv(12) == b"HTTP/1.1 400"
    assert capfd.readouterr().err == ""
