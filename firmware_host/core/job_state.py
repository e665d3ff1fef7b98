"""Phase of the job and what the person's marks do to it.

Pure. Marks come from a busy person: late, some missing, some twice. Every mark is answered: taken,
or set aside with the reason.
"""

from __future__ import annotations

from firmware_host.batch.poured import poured_into
from firmware_host.config.schema import JobDescription
from firmware_host.core.bag_watch import BagWatch
from firmware_host.core.cure_watch import CureWatch
from firmware_host.core.plies import ply_count
from firmware_host.model.events import LeakChecked, MarkTaken, Phase, PhaseEntered, PliesCounted
from firmware_host.model.samples import Mark
from firmware_host.stage.machine import OVER, WET, Move, advance, may_move

DRY_TOO_LONG_S = 45.0 * 60.0
"""A bag kept under vacuum this long without a pour was poured without a mark."""
DOSE_TOLD_WITHIN_S = 3600.0
CLOSED_AFTER_RELEASE_S = 12.0 * 3600.0

StateEvent = PhaseEntered | MarkTaken | LeakChecked | PliesCounted


class JobState:
    """Where the job stands, moved by marks, by the bag and by the resin."""

    def __init__(self, job: JobDescription, bag: BagWatch, cure: CureWatch) -> None:
        self._job = job
        self._work_s = job.job.work_time_min * 60.0
        self._bag = bag
        self._cure = cure
        self.phase = Phase.PLANNED
        self.since_s = 0.0
        self.released_s: float | None = None
        self.valve_shut = False
        self.pump_on_s: float | None = None
        self.second_cup_s: float | None = None
        """When a further cup was mixed, the newest."""
        self.poured_percent: float | None = None
        """Initiator as poured into the first cup; None where nobody said."""
        self.plies_laid = 0
        self._assumed = False
        """A pour was taken for granted because the dry bag was never let up."""
        self._dry_until_s: float | None = None
        """A bag under vacuum when the cup was mixed is the dry one, until it rises or this late."""

    @property
    def wet(self) -> bool:
        """Whether resin is in the bag and vacuum is wanted."""
        return self.phase in WET

    @property
    def drawing(self) -> bool:
        """Whether air is drawn from the bag, as far as the marks say."""
        return self.pump_on_s is not None and not self.valve_shut and self.released_s is None

    def mark(self, mark: Mark, now_s: float) -> list[StateEvent]:
        """Take one mark."""
        if self.phase in OVER:
            return [_set_aside(mark, now_s, f"the job is {self.phase}")]
        act = getattr(self, f"_on_{mark.name}", None)
        if act is None:
            return [_set_aside(mark, now_s, f"no mark is called {mark.name!r}")]
        said: list[StateEvent] | str = act(mark, now_s)
        if isinstance(said, str):
            return [_set_aside(mark, now_s, said)]
        taken = MarkTaken(
            time_s=now_s, name=mark.name, at_s=mark.time_s, taken=True, text=mark.note
        )
        return [taken, *said]

    def tick(self, now_s: float) -> list[StateEvent]:
        """Move on by what was measured and by time alone."""
        said: list[StateEvent] = []
        if self.phase is Phase.DRY_BAG and self._dry_too_long(now_s):
            self._assumed = True
            said += self._assume_poured(now_s)
        if self.phase is Phase.PLANNED and self._bag.was_below:
            said += self._pumped(now_s, now_s)
        if self._bag.was_below and self.wet and not self._still_dry(now_s):
            said += self._move(Move.BELOW_LIMIT, now_s, now_s)
        if self._cure.kicked:
            said += self._move(Move.KICK_SEEN, now_s, now_s)
        if self._cure.peak_passed:
            said += self._move(Move.PEAK_PASSED, now_s, now_s)
        if self.released_s is not None and now_s - self.released_s >= CLOSED_AFTER_RELEASE_S:
            said += self._move(Move.LONG_RELEASED, now_s, now_s)
        return said

    def lay(self, laid: int, now_s: float) -> list[StateEvent]:
        """Count plies; a count that the job does not have changes nothing."""
        plies = ply_count(self._job)
        if self.phase in OVER or not 0 <= laid <= plies:
            return []
        self.plies_laid = laid
        return [PliesCounted(time_s=now_s, laid=laid, plies=plies)]

    def usual_mark(self) -> str | None:
        """Name the mark that usually comes next."""
        if self.valve_shut:
            return "valve_open"
        if self.phase is Phase.DRAWDOWN and self.pump_on_s is None:
            return "pump_on"
        return {
            Phase.PLANNED: "mixed",
            Phase.DRY_BAG: "mixed",
            Phase.WORKING: "bag_closed",
            Phase.DRAWDOWN: "valve_shut",
            Phase.WAITING: "gel_seen" if self._bag.test is not None else "valve_shut",
            Phase.COOLING: "vacuum_released",
            # Vacuum stays on while it heats: nothing usual to press but what a finger found.
            Phase.KICKED: "gel_seen" if self._cure.gel_seen_s is None else None,
            Phase.RELEASED: "demoulded",
        }.get(self.phase)

    def _move(self, move: Move, since_s: float, now_s: float) -> list[StateEvent]:
        if not may_move(self.phase, move):
            return []
        self.phase = advance(self.phase, move)
        self.since_s = since_s
        return [PhaseEntered(time_s=now_s, phase=self.phase, since_s=since_s)]

    def _still_dry(self, now_s: float) -> bool:
        """Tell whether the bag is still the dry one; its opening is no loss of vacuum."""
        if self._dry_until_s is None:
            return False
        opened = self._bag.above_since_s is not None
        if opened:
            self._bag.rearm()
        if opened or now_s >= self._dry_until_s or self.phase is not Phase.WORKING:
            self._dry_until_s = None
        return opened or self._dry_until_s is not None

    def _dry_too_long(self, now_s: float) -> bool:
        pumped_s, bag = self.pump_on_s, self._bag
        holds = bag.was_below and bag.above_since_s is None
        return holds and pumped_s is not None and now_s - pumped_s > DRY_TOO_LONG_S

    def _pumped(self, since_s: float, now_s: float) -> list[StateEvent]:
        self.pump_on_s = since_s
        return self._move(Move.PUMP_ON, since_s, now_s)

    def _assume_poured(self, now_s: float) -> list[StateEvent]:
        """Go on as if the pour had been marked; the answers are wider for it."""
        from_s = self.pump_on_s if self.pump_on_s is not None else now_s
        if self._cure.mixed_s is None:
            self._cure.begin(from_s - self._work_s, now_s, provisional=True)
        return self._move(Move.BAG_CLOSED, from_s, now_s)

    def _on_mixed(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        if self._cure.mixed_s is not None and not self._cure.provisional:
            # Another cup: the window follows the oldest.
            self.second_cup_s = max(mark.time_s, self._cure.mixed_s)
            return []
        if self.phase is Phase.RELEASED or self._cure.kicked:
            return "the resin has kicked already"
        self._cure.begin(mark.time_s, now_s, provisional=False)
        if self.phase is Phase.DRY_BAG or self._assumed:
            self._leave_dry_bag(mark.time_s)
        return self._move(Move.MIXED, mark.time_s, now_s)

    def _leave_dry_bag(self, mixed_s: float) -> None:
        """Forget the dry bag's vacuum; pumped after the mixing, it was no dry bag."""
        if self._bag.above_since_s is not None:
            self._bag.rearm()
        elif self._bag.was_below and (self.pump_on_s is None or self.pump_on_s < mixed_s):
            self._dry_until_s = mixed_s + self._work_s

    def _on_dosed(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        self._pour(poured_into(self._job, mark.note), now_s)
        if self._cure.mixed_s is not None:
            return []
        self._cure.begin(mark.time_s - self._work_s, now_s, provisional=True)
        if self.phase is Phase.DRY_BAG:
            self._leave_dry_bag(mark.time_s)
        return self._move(Move.MIXED, mark.time_s, now_s)

    def _pour(self, percent: float | None, now_s: float) -> None:
        """Take a dose; once a second cup is mixed it is that one's, and the first goes on.

        Told hours later it is kept for the next plan: by then the resin itself has said more, and
        going through all that was measured since would hold up the watch.
        """
        if percent is None or self.second_cup_s is not None:
            return
        self.poured_percent = percent
        mixed_s = self._cure.mixed_s
        if mixed_s is None or (not self._cure.kicked and now_s - mixed_s <= DOSE_TOLD_WITHIN_S):
            self._cure.dosed(percent)

    def _on_bag_closed(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        if self._cure.mixed_s is None:
            self._cure.begin(mark.time_s - self._work_s, now_s, provisional=True)
        if self.phase is Phase.DRY_BAG and self._bag.above_since_s is not None:
            self._bag.rearm()
        return self._move(Move.BAG_CLOSED, mark.time_s, now_s)

    def _on_pump_on(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        return self._pumped(mark.time_s, now_s)

    def _on_pump_off(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        del mark, now_s
        self.pump_on_s = None
        if self.phase is Phase.DRY_BAG:
            self._bag.rearm()
        return []

    def _on_valve_shut(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        self.valve_shut = True
        return list(self._bag.shut(mark.time_s, now_s))

    def _on_valve_open(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        self.valve_shut = False
        return list(self._bag.open(mark.time_s, now_s))

    def _on_gel_seen(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        said = self._wet_without_pour(mark, now_s)
        if isinstance(said, str):
            return said
        self._cure.gel_was_seen(mark.time_s)
        return said + self._move(Move.KICK_SEEN, mark.time_s, now_s)

    def _on_heat_on(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        del mark, now_s
        self._cure.heated = True
        return []

    def _on_heat_off(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        del mark, now_s
        self._cure.heated = False
        return []

    def _on_vacuum_released(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        said = self._wet_without_pour(mark, now_s)
        if isinstance(said, str):
            return said
        self.released_s = mark.time_s
        self._cure.released = True
        self._bag.rearm()
        return said + self._move(Move.RELEASED, mark.time_s, now_s)

    def _on_demoulded(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        if not may_move(self.phase, Move.DEMOULDED):
            return f"nothing can be demoulded while the job is {self.phase}"
        return self._move(Move.DEMOULDED, mark.time_s, now_s)

    def _on_abandoned(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        if not mark.note.strip():
            return "an abandoned job needs its reason"
        return self._move(Move.ABANDONED, mark.time_s, now_s)

    def _wet_without_pour(self, mark: Mark, now_s: float) -> list[StateEvent] | str:
        """Take in a mark that only makes sense with resin, though nobody marked a pour."""
        if self._cure.mixed_s is not None:
            return []
        if self.pump_on_s is None:
            self.pump_on_s = mark.time_s
        if self.phase is Phase.PLANNED:
            self.phase = Phase.DRY_BAG
        return self._assume_poured(now_s)


def _set_aside(mark: Mark, now_s: float, why: str) -> MarkTaken:
    return MarkTaken(time_s=now_s, name=mark.name, at_s=mark.time_s, taken=False, text=why)
