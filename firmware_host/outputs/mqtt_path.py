"""Whether somebody is being told: judged by what the broker confirms, never by a connection.

Pure: the time is an argument, in real seconds. A client library believes in a dead broker for two
keepalives and in a refused publish for ever; only a confirmation with a good reason counts.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from firmware_host.outputs.steady import Steady

SILENT_S = 5.0
"""Without a connection, and with nothing heard for this long, nobody is told."""
UNCONFIRMED_S = 10.0
"""A publish that is older and not confirmed means the same, whatever the connection looks like."""
GOOD_HELD_S = 2.0
"""A path that works is believed after this long."""
LASTED_S = 30.0
"""A connection that lasted as long is followed by a quick try."""
FIRST_PAUSE_S, LONGEST_PAUSE_S = 1.0, 10.0
FIRST_REFUSED_PAUSE_S, LONGEST_REFUSED_PAUSE_S = 5.0, 300.0
"""A broker that says no is not asked more than some twenty times an hour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """Why there is no connection."""

    why: str
    is_refusal: bool
    """The broker, or its certificate, said no: trying soon again changes nothing."""


class PathWatch:
    """Collects what happens and says when the path goes down or comes up."""

    def __init__(self, where: str, now_s: float) -> None:
        self._where = where
        self._heard_s = now_s
        self._ending = Ending(why="it was never reached", is_refusal=False)
        self._is_up = False
        self._is_proven = False
        self._refused: dict[str, str] = {}
        self._own = ""
        self._word = Steady(GOOD_HELD_S, said=None)

    def heard(self, now_s: float) -> None:
        """Note any sign of life of a connected broker."""
        self._heard_s = now_s

    def connected(self, now_s: float) -> None:
        """Note that the broker took us in."""
        self._is_up, self._is_proven = True, False
        self._ending = Ending(why="it went away", is_refusal=False)
        self._refused.clear()
        self._heard_s = now_s

    def ended(self, ending: Ending) -> None:
        """Note that there is no connection, or no more."""
        self._is_up = False
        # A broker that is gone after it said no still has said no.
        if ending.is_refusal or not self._ending.is_refusal:
            self._ending = ending

    def confirmed(self, topic: str) -> None:
        """Note a publish that the broker took."""
        self._is_proven = True
        self._refused.pop(topic, None)

    def refused(self, topic: str, why: str) -> None:
        """Note a publish that the broker did not take."""
        self._refused[topic] = why

    def own_trouble(self, text: str) -> None:
        """Note what keeps us from telling although a broker is there; empty when nothing does."""
        self._own = text

    def look(self, now_s: float, oldest_sent_s: float | None) -> tuple[bool, str] | None:
        """Give the word that is new, with its reason; `oldest_sent_s` is not confirmed yet."""
        trouble = self._trouble(now_s, oldest_sent_s)
        if not trouble and not (self._is_up and self._is_proven):
            return None
        good = self._word.look(now_s, good=not trouble)
        if good is None:
            return None
        return good, trouble or f"the broker at {self._where} confirms what it is told."

    def _trouble(self, now_s: float, oldest_sent_s: float | None) -> str:
        if self._own:
            return f"Nobody is told: {self._own}"
        for topic, why in self._refused.items():
            return (
                f"The broker at {self._where} does not take {topic}: {why}. "
                f"Let this bench write below {_above(topic)} in the broker's access list."
            )
        if oldest_sent_s is not None and now_s - oldest_sent_s > UNCONFIRMED_S:
            waits_s = now_s - oldest_sent_s
            return (
                f"Nobody is told: the broker at {self._where} has confirmed nothing for "
                f"{waits_s:.0f} s (limit {UNCONFIRMED_S:.0f} s). Check it and the network."
            )
        is_silent = self._ending.is_refusal or now_s - self._heard_s > SILENT_S
        if not self._is_up and is_silent:
            return f"Nobody is told: no way to the broker at {self._where}: {self._ending.why}."
        return ""


def _above(topic: str) -> str:
    return "/".join(topic.split("/")[:2]) + "/#"


class Pauses:
    """How long to wait before the next try, with jitter so that many benches do not try at once."""

    def __init__(self, chance: random.Random) -> None:
        self._chance = chance
        self._soft_s = FIRST_PAUSE_S
        self._hard_s = FIRST_REFUSED_PAUSE_S

    def next_s(self, *, is_refusal: bool, lasted_s: float = 0.0) -> float:
        """Give the pause after a try whose connection lasted so long."""
        if lasted_s >= LASTED_S:
            self._soft_s, self._hard_s = FIRST_PAUSE_S, FIRST_REFUSED_PAUSE_S
        if is_refusal:
            pause_s, self._hard_s = self._hard_s, min(2.0 * self._hard_s, LONGEST_REFUSED_PAUSE_S)
            return pause_s * self._chance.uniform(1.0, 1.2)
        pause_s, self._soft_s = self._soft_s, min(2.0 * self._soft_s, LONGEST_PAUSE_S)
        return min(pause_s * self._chance.uniform(0.7, 1.3), LONGEST_PAUSE_S)
