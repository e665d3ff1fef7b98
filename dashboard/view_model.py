"""A snapshot turned into what each place of the panel shows. Pure; the whole panel is tested here.

Every text of the snapshot passes `cleaned` first. Times follow the data, not the panel's clock:
with no new data nothing on the screen moves but the age. Once data is too old to speak of now, its
readings are blanked; what only time decides (the work clock) goes on.
"""

from __future__ import annotations

from dataclasses import replace

from dashboard import places
from dashboard.alarm_words import alarm_box, alarm_line, name_of, unseen
from dashboard.bag_line import bag_line
from dashboard.big_two import the_two, unknown
from dashboard.drop_words import drop_lines
from dashboard.heard import BLANK_S, OLD_S, Heard
from dashboard.places import MOST_CHANNEL_LINES
from dashboard.plain import cleaned, plain
from dashboard.resin_words import resin
from dashboard.shown import Line, Screen, Span, Tone, line, spread
from dashboard.work_words import work_line
from firmware_host.model.snapshot import Snapshot, ply_to_lay

NO_DATA = "no data"


def screen_of(heard: Heard, now_s: float, cells: int = 80, *, ascii_only: bool = False) -> Screen:
    """Say what every place shows; `now_s` is on the panel's own clock."""
    if heard.snapshot is None:
        return _nothing_heard(plain(heard.trouble, ascii_only=ascii_only), cells)
    age_s = heard.age_s(now_s)
    snapshot = _as_old_as_it_is(cleaned(heard.snapshot, ascii_only=ascii_only), age_s)
    job_s = job_time_s(snapshot, age_s)
    left, right = the_two(snapshot, job_s)
    work = work_line(snapshot, job_s)
    shown_resin = resin(snapshot)
    rows = MOST_CHANNEL_LINES + 1 - max(len(shown_resin), 1 + len(work))
    return Screen(
        header=places.header(snapshot, heard, age_s, job_s, cells),
        alarm_line=alarm_line(snapshot.view.alarms, cells),
        left=left,
        right=right,
        alarm_box=alarm_box(snapshot, job_s, cells),
        drop_test=drop_lines(snapshot, job_s),
        work=work,
        bag=() if work else (bag_line(snapshot, cells),),
        resin=shown_resin,
        channels=places.channels(snapshot, cells, rows=rows),
        state=places.state(snapshot, cells),
        usual_mark=snapshot.view.usual_mark or None,
        next_ply=ply_to_lay(snapshot.view),
        # Ids go back to the daemon: as it said them.
        unseen_alarms=tuple(alarm.id for alarm in unseen(heard.snapshot.view.alarms)),
        unseen_names=tuple(name_of(alarm) for alarm in unseen(snapshot.view.alarms)),
    )


def job_time_s(snapshot: Snapshot, age_s: float) -> float:
    """Give the job's time: that of the data, moved on by the panel's clock once data is old."""
    moved_s = age_s * snapshot.clock_rate if age_s > OLD_S else 0.0
    return snapshot.view.time_s + moved_s


def _as_old_as_it_is(snapshot: Snapshot, age_s: float) -> Snapshot:
    if age_s <= BLANK_S:
        return snapshot
    blank = tuple(replace(channel, value=None, fault=NO_DATA) for channel in snapshot.view.channels)
    return replace(snapshot, view=replace(snapshot.view, channels=blank, bag=None))


def _nothing_heard(trouble: str, cells: int) -> Screen:
    not_known = line(" not known", Tone.QUIET)
    first: Line = (Span(" bagvigil panel  ", Tone.STRONG), Span(" not connected ", Tone.ALARM))
    return Screen(
        header=spread(first, line(""), cells),
        alarm_line=line(f" {trouble or 'connecting'}", Tone.NOTICE),
        left=unknown(),
        right=unknown(),
        alarm_box=(),
        drop_test=(not_known, line("")),
        work=(),
        bag=(),
        resin=(line(""),),
        channels=(line(""),),
        state=line(""),
        usual_mark=None,
        next_ply=None,
        unseen_alarms=(),
        unseen_names=(),
    )
