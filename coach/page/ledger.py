"""What the page shows, as numbered changes: whoever was away asks for what came since.

Both sides of the pipe keep one. A change sets a value by its key or adds a line to the log. The last
changes are kept; whoever has fallen behind them gets everything anew. Never waits, never drops a value:
what is old is replaced by what is now.
"""

from __future__ import annotations

import json
from collections import deque
from typing import Any

KEPT_CHANGES = 2048
"""At a feed's five fixes a second nearly seven minutes; else the whole flight."""

KEPT_LINES = 400
"""Lines of the log that a page opened late still gets."""

LOG, ALL = "log", "all"
"""The keys of a line of the log and of everything anew; no value has them."""

BEGUN = "begun"
"""The value that says that the session clock runs; until then the times of changes mean nothing."""


class Ledger:
    """Values, the log, and the last changes; one thread at a time."""

    def __init__(self, kept_changes: int = KEPT_CHANGES) -> None:
        self.n = 0
        """The number of the last change; 0: none yet."""

        self._values: dict[str, Any] = {}
        self._log: deque[Any] = deque(maxlen=KEPT_LINES)
        self._changes: deque[bytes] = deque(maxlen=kept_changes)

    def put(self, key: str, value: Any, at_s: float) -> bool:
        """Set a value, or add a line where the key is `LOG`; False where the value was that already."""
        if key != LOG and key in self._values and self._values[key] == value:
            return False
        change = _encode(self.n + 1, key, value, at_s)
        self.n += 1
        self._keep(key, value, change)
        return True

    def take(self, change: bytes) -> float:
        """Take a change of another ledger over, number and all; its time. ValueError where it is none."""
        read = json.loads(change)
        self.n = int(read["n"])
        if read["k"] == ALL:
            self._values = dict(read["v"]["values"])
            self._log = deque(read["v"]["log"], maxlen=KEPT_LINES)
            self._changes.clear()
        else:
            self._keep(read["k"], read["v"], change)
        return float(read["t"])

    def find_value(self, key: str) -> Any:
        """The present value; None where there is none."""
        return self._values.get(key)

    def since(self, n: int) -> tuple[bytes, ...] | None:
        """The changes after that number; None where they are no longer all kept."""
        kept, missed = len(self._changes), self.n - n
        if missed < 0 or missed > kept:
            return None
        # By their places: a deque is near its end at once, and few were missed mostly.
        return tuple(self._changes[i] for i in range(kept - missed, kept))

    def everything(self, at_s: float) -> bytes:
        """All values and the log as one change, numbered as the last."""
        return _encode(self.n, ALL, {"values": self._values, "log": list(self._log)}, at_s)

    def _keep(self, key: str, value: Any, change: bytes) -> None:
        if key == LOG:
            self._log.append(value)
        else:
            self._values[key] = value
        self._changes.append(change)


def _encode(n: int, key: str, value: Any, at_s: float) -> bytes:
    """One line; `t` is the session clock when it was made."""
    change = {"n": n, "k": key, "t": round(at_s, 3), "v": value}
    return json.dumps(change, separators=(",", ":"), allow_nan=False).encode("ascii")
