"""The loop with a core that only writes down: order, ticks, answers, gap, end."""

from __future__ import annotations

import threading
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import pytest

from firmware_host.clock import ManualClock
from firmware_host.errors import RecordError
from firmware_host.inputs.inbox import Inbox
from firmware_host.inputs.messages import Arrived, PortCounts, ThreadDied
from firmware_host.inputs.ticker import Ticker
from firmware_host.inputs.timeline import Timeline
from firmware_host.loop import ANSWER_WITHIN_S, Loop, Message
from firmware_host.model.channels import Channel, Role
from firmware_host.model.commands import (
    AcknowledgeCommand,
    Answer,
    MarkCommand,
    Request,
    TrendAsk,
)
from firmware_host.model.events import AlarmChanged, AlarmState, Event, MarkTaken
from firmware_host.model.samples import (
    Acknowledge,
    Care,
    Frame,
    Group,
    Input,
    LinkChanged,
    Mark,
    SelfCheck,
    Tick,
    Unseen,
)
from firmware_host.model.snapshot import LinkView, Snapshot, View
from firmware_host.model.trend import Trend
from firmware_host.outputs.disk_watch import RECORDING_HELD_S
from firmware_host.outputs.health import Health
from firmware_host.outputs.publisher import About, Publisher
from firmware_host.outputs.record_thread import Stored
from firmware_host.outputs.service import ServiceManager
from firmware_host.outputs.status_socket import Asked
from tests.views import VIEW

GROUP = Group("board", (Channel("bag", Role.BAG),), 0.5)
TREND = Trend(step_s=10.0, time_s=(10.0,), bag_pa=(5000.0,), laminate_k=(None,), shop_k=(295.0,))
ABOUT = About(
    version="0.1.0",
    bench="north-bench",
    part="drone fairing",
    folder="/tmp/jobs/1",
    zero_wall="2026-03-01T08:00:00+00:00",
)


@dataclass
class FakeCore:
    """Writes down what it is told, and says what it was given to say."""

    told: list[Input] = field(default_factory=list)
    says: dict[type, list[Event]] = field(default_factory=dict)

    def step(self, given: Input) -> list[Event]:
        self.told.append(given)
        return self.says.get(type(given), [])

    def view(self) -> View:
        return VIEW

    def trend(self) -> Trend:
        return TREND


@dataclass
class FakeRecorder:
    """Stores at once, or not until told to."""

    put_down: list[tuple[Input, list[Event], str | None, float | None]] = field(
        default_factory=list
    )
    follows: bool = True
    is_silent: bool = False
    """Whether a disk that does not follow is not said aloud yet."""
    inputs_stored: int = 0
    room_s: float | None = None
    closed: bool = False
    fails_at_close: bool = False

    @property
    def stored(self) -> Stored:
        if self.follows:
            self.inputs_stored = len(self.put_down)
        return Stored(frames=0, inputs=self.inputs_stored, at_s=None)

    @property
    def trouble(self) -> str:
        return "" if self.follows or self.is_silent else "The disk is full."

    @property
    def room_left_s(self) -> float | None:
        return self.room_s

    def put(
        self,
        given: Input,
        events: Sequence[Event] = (),
        *,
        raw: str | None = None,
        arrived_s: float | None = None,
    ) -> int:
        self.put_down.append((given, list(events), raw, arrived_s))
        return len(self.put_down)

    def close(self) -> None:
        self.closed = True
        if self.fails_at_close:
            raise RecordError("the disk did not take it")


class Rig:
    """A loop on a clock turned by hand."""

    def __init__(self, *groups: Group, start_s: float = 0.0) -> None:
        self.clock = ManualClock(start_s)
        self.timeline = Timeline(self.clock, 0.0)
        self.stop = threading.Event()
        self.inbox: Inbox[Message] = Inbox(self.stop)
        self.core = FakeCore()
        self.recorder = FakeRecorder()
        self.shown: list[Snapshot] = []
        self.answers: list[tuple[int, Answer | Trend]] = []
        self.events: list[Event] = []
        self.loop = Loop(
            core=self.core,
            timeline=self.timeline,
            inbox=self.inbox,
            ticker=Ticker(self.timeline, groups),
            recorder=self.recorder,
            publisher=Publisher(ABOUT, self.clock, groups, [self.shown.append]),
            health=Health(ServiceManager(None), self.clock),
            answer=lambda token, answer: self.answers.append((token, answer)),
            tell=[self.events.extend],
            stop=self.stop,
        )

    def frame_at(self, time_s: float) -> Frame:
        frame = Frame(time_s, 0, (50000.0,), (None,))
        arrived_s = self.timeline.now_s()
        self.inbox.put(Arrived(frame=frame, raw="13333", arrived_s=arrived_s))
        return frame

    def ask(self, command: Request, token: int = 1) -> None:
        assert self.inbox.offer(Asked(token=token, command=command))

    def turn(self, seconds: float = 0.0) -> None:
        self.clock.turn(seconds)
        self.loop.turn(0.0)


@pytest.fixture
def rig() -> Rig:
    return Rig(GROUP)


def alarm(state: AlarmState = AlarmState.ACTIVE) -> AlarmChanged:
    return AlarmChanged(
        time_s=1.0,
        id="vacuum_lost-1",
        name="vacuum_lost",
        channel="bag",
        state=state,
        priority="high",
        raised_s=1.0,
        cleared_s=None,
        text="",
        action="",
    )


def test_a_frame_is_judged_and_recorded_with_its_evidence(rig: Rig) -> None:
    rig.core.says[Frame] = [alarm()]
    frame = rig.frame_at(0.4)
    rig.turn(0.5)
    assert rig.core.told == [frame]
    assert rig.recorder.put_down == [(frame, [alarm()], "13333", 0.0)]
    assert rig.events == [alarm()]


def test_silence_is_ticked_each_second_and_recorded(rig: Rig) -> None:
    for _ in range(32):
        rig.turn(0.125)
    ticks = [Tick(1.5), Tick(2.5), Tick(3.5)]
    assert rig.core.told == ticks
    assert [given for given, *_ in rig.recorder.put_down] == ticks


def test_a_bench_without_ports_is_ticked_each_second() -> None:
    rig = Rig()
    for _ in range(25):
        rig.turn(0.125)
    assert rig.core.told == [Tick(1.0), Tick(2.0), Tick(3.0)]


def test_what_waits_in_the_inbox_is_judged_before_the_core_hears_of_now(rig: Rig) -> None:
    rig.clock.turn(20.0)
    frames = [rig.frame_at(18.0), rig.frame_at(18.5)]
    rig.turn()
    rig.turn()
    assert rig.core.told == frames


def test_who_was_away_itself_lets_the_readers_hand_over_before_it_tells_of_silence(
    rig: Rig,
) -> None:
    rig.turn(20.0)
    assert rig.core.told == []
    frames = [rig.frame_at(19.0), rig.frame_at(19.5)]
    rig.turn()
    rig.turn()
    assert rig.core.told == frames


def test_who_was_away_itself_tells_of_silence_a_turn_later(rig: Rig) -> None:
    rig.turn(20.0)
    rig.turn()
    assert rig.core.told == [Tick(20.0)]


def test_a_mark_is_answered_with_the_cores_words_once_it_is_stored(rig: Rig) -> None:
    rig.recorder.follows, rig.recorder.is_silent = False, True
    rig.core.says[Mark] = [
        MarkTaken(time_s=30.0, name="pump_on", at_s=10.0, taken=True, text="pump on at 00:10.")
    ]
    rig.ask(MarkCommand(name="pump_on", ago_s=20.0), token=7)
    rig.turn(30.0)
    assert rig.core.told == [Mark(10.0, "pump_on", 30.0)]
    assert rig.answers == []
    rig.recorder.follows = True
    rig.turn()
    assert rig.answers == [(7, Answer(ok=True, text="pump on at 00:10."))]


def test_a_mark_that_the_core_sets_aside_is_refused_in_its_words(rig: Rig) -> None:
    rig.core.says[Mark] = [
        MarkTaken(time_s=0.0, name="mixed", at_s=0.0, taken=False, text="already mixed.")
    ]
    rig.ask(MarkCommand(name="mixed"))
    rig.turn()
    assert rig.answers == [(1, Answer(ok=False, text="already mixed."))]


def test_a_strange_mark_never_reaches_the_core(rig: Rig) -> None:
    rig.ask(MarkCommand(name="pump"))
    rig.turn()
    assert rig.core.told == []
    assert [answer.ok for _, answer in rig.answers if isinstance(answer, Answer)] == [False]


def test_a_mark_that_the_disk_does_not_take_is_answered_in_time(rig: Rig) -> None:
    rig.recorder.follows = False
    rig.ask(MarkCommand(name="mixed"))
    rig.turn()
    rig.turn(ANSWER_WITHIN_S - 0.01)
    assert rig.answers == []
    rig.turn(0.01)
    assert rig.answers == [
        (1, Answer(ok=False, text="heard and judged, but not stored yet. The disk is full."))
    ]


def test_an_acknowledgement_is_answered_with_the_alarms_state(rig: Rig) -> None:
    rig.core.says[Acknowledge] = [alarm(AlarmState.ACKNOWLEDGED)]
    rig.ask(AcknowledgeCommand(id="vacuum_lost-1", by="panel"), token=3)
    rig.turn(4.0)
    assert rig.core.told[0] == Acknowledge(4.0, "vacuum_lost-1", "panel")
    assert rig.answers == [(3, Answer(ok=True, text="vacuum_lost is acknowledged."))]


def test_the_trend_is_answered_at_once_and_is_no_input_of_the_job(rig: Rig) -> None:
    rig.recorder.follows, rig.recorder.is_silent = False, True
    rig.ask(TrendAsk(), token=5)
    rig.turn()
    assert rig.answers == [(5, TREND)]
    assert rig.core.told == []


def test_an_acknowledgement_of_nothing_says_so(rig: Rig) -> None:
    rig.ask(AcknowledgeCommand(id="vacuum_lost-9", by="panel"))
    rig.turn()
    assert rig.answers == [(1, Answer(ok=False, text="no alarm 'vacuum_lost-9' waits to be seen."))]


def test_what_the_daemon_says_itself_never_lies_before_what_the_core_has_seen(rig: Rig) -> None:
    # A board's clock may be mapped some ms ahead of ours.
    rig.clock.turn(1.0)
    frame = rig.frame_at(1.25)
    rig.turn()
    rig.inbox.put(LinkChanged(0.9, 0, up=False, text="gone"))
    rig.ask(MarkCommand(name="mixed", ago_s=1.0))
    rig.turn()
    rig.turn()
    assert rig.core.told == [
        frame,
        LinkChanged(1.25, 0, up=False, text="gone"),
        Mark(0.25, "mixed", 1.25),
    ]


def test_links_and_counts_show_in_the_snapshot(rig: Rig) -> None:
    rig.turn()
    assert rig.shown[-1].links == (
        LinkView(name="board", up=False, text="not opened yet", frames=0, damaged=0, lost=0),
    )
    rig.inbox.put(PortCounts(group=0, frames=9, damaged=2, lost=1))
    rig.turn()
    rig.inbox.put(LinkChanged(0.0, 0, up=True, text="the board answers."))
    rig.turn()
    assert rig.shown[-1].links == (
        LinkView(name="board", up=True, text="the board answers.", frames=9, damaged=2, lost=1),
    )
    rig.inbox.put(LinkChanged(0.0, 0, up=True, text="damaged.", limps=True))
    rig.turn()
    assert rig.shown[-1].links[0].limps


def test_snapshots_come_four_times_a_second_and_at_once_when_it_matters(rig: Rig) -> None:
    for _ in range(100):
        rig.turn(0.01)
    assert len(rig.shown) == 4
    rig.core.says[Frame] = [alarm()]
    rig.frame_at(1.0)
    rig.turn()
    assert len(rig.shown) == 5


def test_a_job_taken_up_again_is_judged_once_more_and_its_gap_is_told() -> None:
    rig = Rig(GROUP, start_s=600.0)
    earlier: list[Input] = [Frame(1.0, 0, (50000.0,), (None,)), Tick(2.0)]
    rig.clock.turn(20.0)  # judging a long record takes a while; the readers run meanwhile
    rig.loop.resume(earlier, 2.0, "Bag Vigil was not running")
    gap = Unseen(600.0, 2.0, "Bag Vigil was not running")
    assert rig.core.told == [*earlier, gap]
    assert [given for given, *_ in rig.recorder.put_down] == [gap]


def test_a_gap_never_ends_before_it_began() -> None:
    rig = Rig(GROUP, start_s=1.0)
    rig.loop.resume([Tick(2.0)], 2.0, "Bag Vigil was not running")
    assert rig.core.told == [Tick(2.0), Unseen(2.0, 2.0, "Bag Vigil was not running")]


def test_a_stop_while_judging_a_long_record_adds_nothing_to_it(rig: Rig) -> None:
    def inputs() -> Iterator[Input]:
        yield Tick(1.0)
        rig.stop.set()
        yield Tick(2.0)

    rig.frame_at(0.0)
    rig.loop.resume(inputs(), 2.0, "Bag Vigil was not running")
    rig.loop.run()
    assert rig.core.told == [Tick(1.0)]
    assert rig.recorder.put_down == []
    assert rig.recorder.closed


def test_a_record_that_cannot_be_read_is_raised_once_all_is_put_away(rig: Rig) -> None:
    def inputs() -> Iterator[Input]:
        yield Tick(1.0)
        raise RecordError("row 2 was changed")

    with pytest.raises(RecordError, match="row 2 was changed"):
        rig.loop.resume(inputs(), 2.0, "Bag Vigil was not running")
    assert rig.recorder.closed
    assert rig.stop.is_set()


def test_a_record_without_inputs_has_no_gap(rig: Rig) -> None:
    rig.loop.resume([], None, "Bag Vigil was not running")
    assert rig.core.told == []


def test_a_thread_that_died_is_logged(rig: Rig, caplog: pytest.LogCaptureFixture) -> None:
    rig.inbox.put(ThreadDied(thread="port-board", why="KeyError('x')"))
    rig.turn()
    assert "thread port-board ended: KeyError('x'). Start bagvigil again." in caplog.text


def test_a_lost_port_is_logged_by_its_name(rig: Rig, caplog: pytest.LogCaptureFixture) -> None:
    rig.inbox.put(LinkChanged(0.0, 0, up=False, text="gone. Plug it in."))
    rig.turn()
    assert "port board: gone. Plug it in." in caplog.text


def test_the_end_judges_what_waits_answers_and_closes_the_record(rig: Rig) -> None:
    rig.stop.set()
    frame = rig.frame_at(0.0)
    rig.ask(MarkCommand(name="mixed"))
    rig.loop.run()
    assert rig.core.told == [frame, Mark(0.0, "mixed", 0.0)]
    assert rig.recorder.closed
    assert rig.answers == [(1, Answer(ok=True, text="mixed is noted."))]


def test_the_end_says_what_the_disk_did_not_take(rig: Rig) -> None:
    rig.stop.set()
    rig.recorder.follows = False
    rig.recorder.fails_at_close = True
    rig.ask(MarkCommand(name="mixed"))
    with pytest.raises(RecordError, match="did not take it"):
        rig.loop.run()
    assert rig.answers == [
        (1, Answer(ok=False, text="heard and judged, but not stored yet. The disk is full."))
    ]


def test_a_core_that_fails_still_closes_the_record(rig: Rig) -> None:
    def fail(given: Input) -> list[Event]:
        raise ZeroDivisionError(repr(given))

    rig.core.step = fail  # type: ignore[method-assign]  # the fake's only method that may fail
    rig.frame_at(0.0)
    with pytest.raises(ZeroDivisionError):
        rig.loop.run()
    assert rig.recorder.closed
    assert rig.stop.is_set()


FULL = SelfCheck(0.0, Care.RECORDING, ok=False, text="The disk is full.")
FOLLOWS = SelfCheck(RECORDING_HELD_S, Care.RECORDING, ok=True, text="the disk follows again.")


def checks(rig: Rig) -> list[Input]:
    return [given for given in rig.core.told if isinstance(given, SelfCheck)]


def test_a_disk_that_does_not_follow_is_told_to_the_core_once(rig: Rig) -> None:
    rig.recorder.follows = False
    rig.turn()
    rig.turn()
    assert checks(rig) == [FULL]


def test_a_disk_that_follows_again_is_believed_once_it_has_for_a_while(rig: Rig) -> None:
    rig.recorder.follows = False
    rig.turn()
    rig.recorder.follows = True
    rig.turn()
    rig.turn(RECORDING_HELD_S - 0.001)
    assert checks(rig) == [FULL]
    rig.turn(0.001)
    assert checks(rig) == [FULL, FOLLOWS]


def test_a_recording_fault_from_before_a_restart_is_settled_when_the_disk_follows(rig: Rig) -> None:
    rig.loop.resume([FULL], 0.0, "not running")
    rig.turn()
    rig.turn(RECORDING_HELD_S)
    assert checks(rig) == [FULL, FOLLOWS]


def test_room_for_less_than_a_day_and_for_less_than_two_hours_is_told_once_each(rig: Rig) -> None:
    for hours in (25.0, 23.9, 23.8, 24.1, 1.9, 1.8):
        rig.recorder.room_s = hours * 3600.0
        rig.turn()
    assert [(one.what, one.ok) for one in checks(rig) if isinstance(one, SelfCheck)] == [
        (Care.DISK_DAY, False),
        (Care.DISK_HOURS, False),
    ]
    rig.recorder.room_s = 2.41 * 3600.0
    rig.turn()
    rig.turn(RECORDING_HELD_S)
    last = checks(rig)[-1]
    assert isinstance(last, SelfCheck)
    assert (last.what, last.ok) == (Care.DISK_HOURS, True)
    assert last.text == "the disk has room for 2.4 h more at the present pace (limit 2 h)."


def test_what_the_way_to_a_phone_says_is_judged_in_order(rig: Rig) -> None:
    rig.clock.turn(3.0)
    rig.inbox.put(SelfCheck(1.0, Care.PHONE_PATH, ok=False, text="no broker answers."))
    rig.turn()
    rig.turn()
    rig.inbox.put(SelfCheck(2.0, Care.PHONE_PATH, ok=True, text="a broker answers."))
    rig.turn()
    assert [(given.time_s, given.ok) for given in rig.core.told if type(given) is SelfCheck] == [
        (1.0, False),
        (3.0, True),
    ]


def test_a_sleep_of_the_computer_is_a_span_in_which_nobody_watched(rig: Rig) -> None:
    for _ in range(5):
        rig.turn(1.0)
    rig.clock.suspend(0.9)
    rig.turn()
    rig.clock.suspend(3600.0)
    rig.turn()
    (gap,) = [given for given in rig.core.told if isinstance(given, Unseen)]
    assert gap.why == "this computer slept"
    assert (gap.start_s, gap.time_s) == (5.0, 3605.9)
