"""What a decoder refused and what it has seen so far, counted.

Never grows with the feed: kinds beyond the first few are counted together.
"""

from __future__ import annotations

from dataclasses import dataclass, field

MAX_KINDS = 64
"""Kinds of sentence counted by name; a real receiver sends ten or twenty."""

OTHER_KINDS = "others"

MAX_TEXT_CHARACTERS = 120
"""Of what was refused, so much is kept for people to look at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rejected:
    """A piece of the feed that was refused; it cost only itself."""

    at_s: float
    """Session clock, when its last byte arrived."""

    reason: str
    """One of a small number of reasons, such as `checksum`."""

    text: str
    """Its beginning, for people: what cannot be printed is written as an escape."""


@dataclass(slots=True)
class Tally:
    """Counts since the decoder began."""

    kinds: dict[str, int] = field(default_factory=dict)
    """Whole sentences or messages by kind, such as `GPRMC` or `ownship`, refused for what they say or not."""

    rejected: dict[str, int] = field(default_factory=dict)
    """Refused pieces by reason."""

    examples: dict[str, str] = field(default_factory=dict)
    """For each reason the text of the last piece refused."""

    fixes: int = 0
    n_bytes: int = 0

    def count(self, kind: str) -> None:
        """Count one more of a kind."""
        kinds = self.kinds
        if kind in kinds:
            kinds[kind] += 1
            return
        name = kind if len(kinds) < MAX_KINDS else OTHER_KINDS
        kinds[name] = kinds.get(name, 0) + 1

    def reject(self, reason: str, piece: bytes, at_s: float) -> Rejected:
        """Count a refused piece and return it for people."""
        text = render_piece(piece)
        self.rejected[reason] = self.rejected.get(reason, 0) + 1
        self.examples[reason] = text
        return Rejected(at_s=at_s, reason=reason, text=text)


def render_piece(piece: bytes) -> str:
    """Return the beginning of some bytes as printable ASCII."""
    return repr(piece[:MAX_TEXT_CHARACTERS])[2:-1][:MAX_TEXT_CHARACTERS]
