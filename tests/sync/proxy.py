"""A network cable between a station and its server that is pulled after so many bytes."""

import selectors
import socket
import threading


class Cable:
    """Passes bytes on both ways; after `most` bytes from the station both ends are cut at once."""

    def __init__(self, to_port: int, most: int | None = None) -> None:
        self.most = most
        self.passed = 0
        """Bytes that went from the station to the server in the last connection."""
        self._to_port = to_port
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listening.getsockname()[1])
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def close(self) -> None:
        """No more connections."""
        self._listening.shutdown(socket.SHUT_RDWR)
        self._listening.close()
        self._thread.join()

    def _run(self) -> None:
        while True:
            try:
                station, _ = self._listening.accept()
            except OSError:
                return
            with station, socket.create_connection(("127.0.0.1", self._to_port)) as server:
                self._pass_on(station, server)

    def _pass_on(self, station: socket.socket, server: socket.socket) -> None:
        self.passed = 0
        with selectors.DefaultSelector() as ready:
            ready.register(station, selectors.EVENT_READ, server)
            ready.register(server, selectors.EVENT_READ, station)
            while True:
                for key, _ in ready.select():
                    assert isinstance(key.fileobj, socket.socket)
                    try:
                        block = key.fileobj.recv(4096)
                        if key.fileobj is station:
                            if self.most is not None:
                                block = block[: self.most - self.passed]
                            self.passed += len(block)
                        if not block:
                            return
                        key.data.sendall(block)
                        if self.passed == self.most:
                            return
                    except OSError:
                        return
