"""The newest state for whoever looks: at most four times a second, at once when it matters."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from firmware_host.clock import Clock
from firmware_host.model.samples import Group, LinkChanged
from firmware_host.model.snapshot import SCHEMA, LinkView, Snapshot, View
from firmware_host.outputs.record_thread import Stored

LEAST_GAP_S = 0.25
"""Real time between snapshots that nothing hurries."""
UNWATCHED_GAP_S = 1.0
"""The same while nobody looks: whoever comes then finds one that is hardly older."""


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What of a snapshot stays the same through a run."""

    version: str
    bench: str
    part: str
    folder: str
    zero_wall: str
    """RFC 3339 with offset; the job's zero."""
    broker: str = ""
    """See `Snapshot`."""


class Publisher:
    """Builds snapshots and hands each to every sink; a sink keeps the newest and never waits."""

    def __init__(
        self,
        about: About,
        clock: Clock,
        groups: Sequence[Group],
        sinks: Sequence[Callable[[Snapshot], None]],
        watched: Callable[[], bool] = lambda: True,
    ) -> None:
        """Begin with every link not yet heard of; `watched` tells whether anybody looks now."""
        self._watched = watched
        self._about = about
        self._clock = clock
        self._sinks = tuple(sinks)
        self._links = [
            LinkView(name=group.name, up=False, text="not opened yet", frames=0, damaged=0, lost=0)
            for group in groups
        ]
        self._published_s: float | None = None

    def link(self, changed: LinkChanged) -> str:
        """Note what a reader said of its port; returns the port's name."""
        link = replace(
            self._links[changed.group], up=changed.up, text=changed.text, limps=changed.limps
        )
        self._links[changed.group] = link
        return link.name

    def counts(self, group: int, *, frames: int, damaged: int, lost: int) -> None:
        """Note what a reader counted."""
        self._links[group] = replace(self._links[group], frames=frames, damaged=damaged, lost=lost)

    def publish(self, view: Callable[[], View], stored: Stored, *, at_once: bool) -> None:
        """Hand out a snapshot, if one is due or cannot wait."""
        now_s = self._clock.monotonic_s()
        gap_s = (LEAST_GAP_S if self._watched() else UNWATCHED_GAP_S) * self._clock.rate
        is_due = self._published_s is None or now_s - self._published_s >= gap_s
        if not (is_due or at_once):
            return
        self._published_s = now_s
        snapshot = self._snapshot(view(), stored, now_s)
        for sink in self._sinks:
            sink(snapshot)

    def _snapshot(self, view: View, stored: Stored, now_s: float) -> Snapshot:
        return Snapshot(
            schema=SCHEMA,
            version=self._about.version,
            bench=self._about.bench,
            part=self._about.part,
            folder=self._about.folder,
            wall=self._clock.wall().isoformat(timespec="milliseconds"),
            zero_wall=self._about.zero_wall,
            clock_rate=self._clock.rate,
            stored_rows=stored.frames,
            stored_age_s=None if stored.at_s is None else now_s - stored.at_s,
            links=tuple(self._links),
            view=view,
            broker=self._about.broker,
            head=stored.head,
        )
