"""Fetching a model, from a server on this machine that can break off, send wrong bytes or be away."""

import hashlib
import io
import re
import stat
import threading
import zipfile
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from assistant.asr.models import SMALL_ENGLISH, PublishedModel, fetch_model
from assistant.errors import ModelError


class Server:
    """Serves one file; can give up after some bytes, or know nothing of ranges."""

    def __init__(self) -> None:
        self.content = b""
        self.give_up_after: int | None = None
        self.knows_ranges = True
        self.status = 200
        self.asked: list[str | None] = []
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                wanted = self.headers.get("Range")
                outer.asked.append(wanted)
                start = 0
                status = outer.status
                if wanted and outer.knows_ranges:
                    start = int(wanted.removeprefix("bytes=").rstrip("-"))
                    status = 206
                body = outer.content[start:]
                self.send_response(status)
                self.send_header("Content-Length", str(len(body)))
                if status == 206:
                    last = len(outer.content) - 1
                    self.send_header("Content-Range", f"bytes {start}-{last}/{len(outer.content)}")
                self.end_headers()
                self.wfile.write(body[: outer.give_up_after])

            def log_message(self, *_: object) -> None:
                pass

        self._server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self._server.server_port}/model.zip"
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.01,))
        self._thread.start()

    def close(self) -> None:
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()


@pytest.fixture
def server() -> Iterator[Server]:
    server = Server()
    yield server
    server.close()


def zipped(files: dict[str, bytes], link: str | None = None) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
        if link:
            entry = zipfile.ZipInfo(link)
            entry.external_attr = (stat.S_IFLNK | 0o777) << 16
            archive.writestr(entry, "/etc")
    return packed.getvalue()


def published(server: Server, content: bytes) -> PublishedModel:
    server.content = content
    return PublishedModel(server.url, len(content), hashlib.sha256(content).hexdigest(), "small")


GOOD = zipped({"small/am/final.mdl": bytes(range(256)) * 40, "small/conf/mfcc.conf": b"--num-ceps=40\n"})


def test_a_model_is_fetched_checked_and_unpacked(server: Server, tmp_path: Path) -> None:
    seen: list[tuple[int, int]] = []
    model = published(server, GOOD)

    folder = fetch_model(tmp_path / "models", lambda here, whole: seen.append((here, whole)), model)

    assert (folder / "conf/mfcc.conf").read_bytes() == b"--num-ceps=40\n"
    assert seen[-1] == (len(GOOD), len(GOOD))
    assert [path.name for path in (tmp_path / "models").iterdir()] == ["small"]


def test_a_model_that_is_there_is_not_fetched_again(server: Server, tmp_path: Path) -> None:
    model = published(server, GOOD)
    fetch_model(tmp_path, model=model)

    fetch_model(tmp_path, model=model)

    assert len(server.asked) == 1


def test_a_broken_download_goes_on_where_it_stopped(server: Server, tmp_path: Path) -> None:
    model = published(server, GOOD)
    server.give_up_after = 500
    with pytest.raises(ModelError, match=r"broke off at 500 of .* run it again to go on from there"):
        fetch_model(tmp_path, model=model)
    server.give_up_after = None

    folder = fetch_model(tmp_path, model=model)

    assert server.asked == [None, "bytes=500-"]
    assert (folder / "am/final.mdl").is_file()


def test_a_server_without_ranges_is_asked_for_the_whole_again(server: Server, tmp_path: Path) -> None:
    model = published(server, GOOD)
    (tmp_path / "small.zip.part").write_bytes(b"x" * 100)
    server.knows_ranges = False

    assert (fetch_model(tmp_path, model=model) / "am/final.mdl").is_file()


@pytest.mark.parametrize("wrong", [GOOD[:-1] + b"?", GOOD + b"more"], ids=["one byte changed", "too long"])
def test_another_file_than_the_published_one_is_thrown_away(
    server: Server, tmp_path: Path, wrong: bytes
) -> None:
    model = published(server, GOOD)
    server.content = wrong

    with pytest.raises(ModelError, match="is not the file that was published"):
        fetch_model(tmp_path, model=model)

    assert list(tmp_path.iterdir()) == []


def test_a_resumed_lie_is_thrown_away_too(server: Server, tmp_path: Path) -> None:
    model = published(server, GOOD)
    (tmp_path / "small.zip.part").write_bytes(b"x" * 100)

    with pytest.raises(ModelError, match="is not the file that was published"):
        fetch_model(tmp_path, model=model)

    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("files", "link"),
    [
        ({"small/a": b"", "../outside": b""}, None),
        ({"/etc/outside": b""}, None),
        ({"small/../../outside": b""}, None),
        ({"other/a": b""}, None),
        ({"small\\..\\..\\outside": b""}, None),
        ({"small/a": b""}, "small/link"),
    ],
)
def test_a_zip_that_reaches_outside_is_refused(
    server: Server, tmp_path: Path, files: dict[str, bytes], link: str | None
) -> None:
    model = published(server, zipped(files, link))

    with pytest.raises(ModelError, match="would write outside its folder"):
        fetch_model(tmp_path / "models", model=model)

    assert [path.name for path in tmp_path.iterdir()] == ["models"]
    assert not [path for path in (tmp_path / "models").iterdir() if path.is_dir()]


def test_a_file_that_is_not_a_zip_is_reported(server: Server, tmp_path: Path) -> None:
    model = published(server, b"<html>sign in to this network</html>")

    with pytest.raises(
        ModelError, match=r"is not a zip file; with network elsewhere, download .* unpack it into"
    ):
        fetch_model(tmp_path, model=model)


def test_without_network_it_says_what_to_do_by_hand(server: Server, tmp_path: Path) -> None:
    model = published(server, GOOD)
    server.close()
    wanted = (
        f"The model can't be fetched ([Errno 111] Connection refused); with network elsewhere, "
        f"download {model.url}, unpack it into {tmp_path} and try again."
    )

    with pytest.raises(ModelError, match=f"^{re.escape(wanted)}$"):
        fetch_model(tmp_path, model=model)


def test_a_missing_page_is_reported(server: Server, tmp_path: Path) -> None:
    model = published(server, GOOD)
    server.status = 404

    with pytest.raises(ModelError, match=r"can't be fetched \(Not Found\)"):
        fetch_model(tmp_path, model=model)


def test_a_place_that_can_not_be_written_is_reported(server: Server, tmp_path: Path) -> None:
    model = published(server, GOOD)
    (tmp_path / "models").write_text("a file")

    with pytest.raises(ModelError, match=r"can't be written to .* choose a folder with"):
        fetch_model(tmp_path / "models", model=model)


def test_the_published_model_is_named_by_https() -> None:
    assert SMALL_ENGLISH.url.startswith("https://")
    assert re.fullmatch("[0-9a-f]{64}", SMALL_ENGLISH.sha256)
