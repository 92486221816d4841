"""Connections to the page: not too many at once, and none that never says what it wants.

Imported where a server is built.
"""

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol  # noqa: TID253

MOST_CONNECTIONS = 128
"""At once; each further one is closed."""
MOST_OF_ONE_ADDRESS = 48
"""The same of one address, so that no other screen can keep the one on the wall out."""
SLOWEST_REQUEST_S = 10.0
"""A request that takes longer (s) than this to arrive is not waited for."""


class PatientProtocol(H11Protocol):
    """HTTP/1.1 with an end to patience: uvicorn bounds only the rest between two requests."""

    _giving_up: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin, where there is room."""
        super().connection_made(transport)
        if len(self.connections) > MOST_CONNECTIONS or self._of_this_address() > MOST_OF_ONE_ADDRESS:
            transport.abort()
        else:
            self._be_patient()

    def data_received(self, data: bytes) -> None:
        """Take what arrived of a request."""
        super().data_received(data)
        self._be_patient()

    def connection_lost(self, exc: Exception | None) -> None:
        """End."""
        self._stop_giving_up()
        super().connection_lost(exc)

    def _of_this_address(self) -> int:
        address = self.client and self.client[0]
        others = (one.client for one in self.connections if isinstance(one, H11Protocol))
        return sum(1 for client in others if client and client[0] == address)

    def _be_patient(self) -> None:
        """Wait for a request that is not whole from its first moment on, however many pieces it comes in."""
        if self.conn.their_state not in (h11.IDLE, h11.SEND_BODY):
            self._stop_giving_up()
        elif self._giving_up is None:
            self._giving_up = self.loop.call_later(SLOWEST_REQUEST_S, self.transport.abort)

    def _stop_giving_up(self) -> None:
        if self._giving_up is not None:
            self._giving_up.cancel()
            self._giving_up = None
