"""The station's one queue, with a bound: where the loop is held up reports are left out, never a command."""

from queue import Queue

from assistant.station.messages import Beat, Found, Lost, Message, Noticed, Recovered

MOST = 1000
"""Messages that wait; a busy kitchen makes some ten a minute."""
_CAN_BE_LEFT_OUT = (Beat, Noticed, Lost, Found, Recovered)
FELL_BEHIND = Noticed("fell_behind", tone="ring_firm")


class Inbox(Queue[Message]):
    """Leaves out the oldest report of a device where more than `most` messages wait, and has it told once."""

    def __init__(self, most: int = MOST) -> None:
        super().__init__()
        self._most = most
        self.left_out = 0
        """How many were left out so far."""
        self._told = False

    def _put(self, item: Message) -> None:
        """As Queue's, with its lock held."""
        if len(self.queue) >= self._most:
            oldest = (
                place
                for place, one in enumerate(self.queue)
                if isinstance(one, _CAN_BE_LEFT_OUT) and one is not FELL_BEHIND
            )
            place = next(oldest, None)
            if place is not None:
                del self.queue[place]
                self.left_out += 1
                if not self._told:
                    self._told = True
                    self.queue.append(FELL_BEHIND)
        self.queue.append(item)

    def _get(self) -> Message:
        """As Queue's."""
        message: Message = self.queue.popleft()
        if not self.queue:
            self._told = False
        return message
