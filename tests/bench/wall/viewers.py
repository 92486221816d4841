"""Viewers of the page, to be run in a process of their own: a module that such a process can import."""

import socket
from typing import Any


def look_on(port: int, count: int, ready: Any, stop: Any) -> None:
    """Viewers in a process of their own, which read whatever comes."""
    viewers = []
    for _ in range(count):
        viewer = socket.create_connection(("127.0.0.1", port))
        viewer.sendall(b"GET /events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
        viewer.settimeout(0.01)
        viewers.append(viewer)
    ready.set()
    while not stop.is_set():
        for viewer in viewers:
            try:
                viewer.recv(65536)
            except TimeoutError:
                continue
    for viewer in viewers:
        viewer.close()
