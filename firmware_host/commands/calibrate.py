"""`bagvigil calibrate`: gauges, couples, bag volume and dropper against something known."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import Any

from firmware_host.channels.bench_check import Measured, measure
from firmware_host.clock import Clock, SystemClock
from firmware_host.commands.calibrate_files import Signature, change, note, read_log
from firmware_host.commands.voice import aside, tell
from firmware_host.config.load import load_bench, load_job, parse_bench, parse_job
from firmware_host.config.schema import Bench, BenchChannel, PressureReference
from firmware_host.config.toml_text import KeyPath
from firmware_host.config.wording import nearest
from firmware_host.errors import InputError
from firmware_host.inputs.buses import Buses, SystemBuses
from firmware_host.inputs.listening import listen
from firmware_host.model.channels import Quantity
from hardware.two_points import Line, Point, corrected_transducer, line_through, volume_from_gulp_l
from hardware.units import from_pascal, to_kelvin, to_pascal

COUPLE_LIMIT_K = 2.5
"""Class 2 of IEC 60584-1 below 333 degC, from memory."""
POINT = "point"
Run = Callable[[argparse.Namespace, Clock, Callable[[], Buses]], int]


def add(commands: Any) -> None:  # noqa: ANN401 - argparse's own type for this is private
    """Describe the command line."""
    parser = commands.add_parser(
        "calibrate",
        help="compare a sensor with something known",
        description="Shows what it would change in bench.toml or job.toml; with --write it keeps "
        "the old file and writes the new one. Every point is noted with date and name.",
    )
    kinds = parser.add_subparsers(metavar="WHAT", required=True)
    pressure = _kind(kinds, "pressure", "a gauge at two known pressures, one run for each", _gauge)
    _of_channel(pressure, "--true-mbar", "what it truly is now, mbar absolute")
    pressure.add_argument("--room-mbar", type=float, help="the room, for a gauge against it")
    couple = _kind(kinds, "couple", "a couple in ice water or beside a reference", _couple)
    _of_channel(couple, "--true-c", "what it truly is now, degC")
    volume = _kind(kinds, "volume", "bag volume from a gulp of air into the shut bag", _volume)
    volume.add_argument("--job", type=Path, required=True, help="job description")
    for name in ("--room-mbar", "--before-mbar", "--after-mbar", "--gulp-ml"):
        volume.add_argument(name, type=float, required=True)
    dropper = _kind(kinds, "dropper", "a dropper by the weight of its drops", _dropper)
    dropper.add_argument("--job", type=Path, required=True, help="job description")
    dropper.add_argument("--name", required=True, help="what you call this bottle")
    dropper.add_argument("--drops", type=int, required=True)
    dropper.add_argument("--grams", type=float, required=True)


def run(args: argparse.Namespace) -> int:
    """Calibrate with the real clock and the real buses."""
    calibrate: Run = args.calibrate
    return calibrate(args, SystemClock(), SystemBuses)


def _kind(kinds: Any, name: str, words: str, calibrate: Run) -> Any:  # noqa: ANN401 - as above
    parser = kinds.add_parser(name, help=words, description=f"Calibrate {words}.")
    parser.add_argument("--by", default="", help="who does it")
    parser.add_argument("--write", action="store_true", help="take the change over")
    parser.set_defaults(run=run, calibrate=calibrate)
    return parser


def _of_channel(parser: Any, true: str, words: str) -> None:  # noqa: ANN401 - as above
    parser.add_argument("--bench", type=Path, required=True, help="bench file")
    parser.add_argument("--channel", required=True, help="name of the channel")
    parser.add_argument(true, type=float, required=True, help=words)
    parser.add_argument("--seconds", type=float, default=10.0, help="how long to read it")


def _gauge(args: argparse.Namespace, clock: Clock, buses: Callable[[], Buses]) -> int:
    """Take one point; with an earlier one far enough away, show the line through both."""
    bench = load_bench(args.bench)
    channel, table = _channel(bench, args.channel, Quantity.PRESSURE)
    room_pa = _room_pa(channel, args.room_mbar)
    found_pa = _read(args, bench, clock, buses).mean
    here = Point(found_pa - room_pa, to_pascal(args.true_mbar, "mbar") - room_pa)
    earlier = _points(args.bench, channel.name)
    signature = _signed(args, clock)
    tell(f"{channel.name} reads {found_pa / 100.0:.2f} mbar, truly {args.true_mbar:.2f} mbar.")
    held = {"channel": channel.name, "read_pa": here.read_pa, "true_pa": here.true_pa}
    note(args.bench, signature, {"what": POINT, **held})
    if not earlier:
        tell("The first point is noted. Go to the other pressure and run this again.")
        return 0
    try:
        line = line_through(earlier[-1], here, channel.full_scale_pa)
    except ValueError as error:
        raise InputError([f"channel {channel.name}: {error}. Take the points anew."]) from error
    keys = _corrected(channel, line) | {"calibrated_on": signature.date.date()}
    found = {"found": {"channel": channel.name, "slope": line.slope, "zero_pa": line.zero_pa}}
    change(args.bench, table, keys, signature, found, check=parse_bench, write=args.write)
    return 0


def _couple(args: argparse.Namespace, clock: Clock, buses: Callable[[], Buses]) -> int:
    """Take one point; a couple is believed or thrown away, never bent."""
    bench = load_bench(args.bench)
    channel, table = _channel(bench, args.channel, Quantity.TEMPERATURE)
    true_k = to_kelvin(args.true_c, "degC")
    off_k = _read(args, bench, clock, buses).mean - true_k
    signature = _signed(args, clock)
    note(
        args.bench,
        signature,
        {"what": POINT, "channel": channel.name, "off_k": off_k, "true_k": true_k},
    )
    tell(f"{channel.name} is {off_k:+.2f} K off (limit {COUPLE_LIMIT_K} K).")
    if abs(off_k) > COUPLE_LIMIT_K:
        tell("Look for wrong wire or a reversed plug; else use another couple.")
        return 1
    keys = {"calibrated_on": signature.date.date()}
    found = {"found": {"off_k": off_k}}
    change(args.bench, table, keys, signature, found, check=parse_bench, write=args.write)
    return 0


def _volume(args: argparse.Namespace, clock: Clock, buses: Callable[[], Buses]) -> int:
    """Work out the bag's volume from what the panel showed."""
    del buses
    held = load_job(args.job).bag.free_volume_l
    _positive(args, "room_mbar", "before_mbar", "after_mbar", "gulp_ml")
    pressures = (args.room_mbar, args.before_mbar, args.after_mbar)
    room_pa, before_pa, after_pa = (to_pascal(one, "mbar") for one in pressures)
    try:
        volume_l = volume_from_gulp_l(room_pa, before_pa, after_pa, args.gulp_ml / 1000.0)
    except ValueError as error:
        raise InputError([f"--after-mbar {args.after_mbar:g}: {error}."]) from error
    tell(f"The shut bag holds {volume_l:.2f} l.")
    keys = {"free_volume_l": round(volume_l, 3)}
    found = {"found": {"free_volume_l": held}}
    signature = _signed(args, clock)
    change(args.job, ("bag",), keys, signature, found, check=parse_job, write=args.write)
    return 0


def _dropper(args: argparse.Namespace, clock: Clock, buses: Callable[[], Buses]) -> int:
    """Note what the drops of a bottle weigh."""
    del buses
    held = load_job(args.job).dropper
    _positive(args, "drops", "grams")
    tell(f"One drop weighs {1000.0 * args.grams / args.drops:.1f} mg.")
    keys = {"name": args.name, "drops_weighed": args.drops, "weighed_g": args.grams}
    found = {"found": None if held is None else held.name}
    signature = _signed(args, clock)
    change(args.job, ("dropper",), keys, signature, found, check=parse_job, write=args.write)
    return 0


def _positive(args: argparse.Namespace, *names: str) -> None:
    for name in names:
        if not 0.0 < getattr(args, name) < 1e6:
            text = f"--{name.replace('_', '-')} {getattr(args, name):g} must be above 0."
            raise InputError([text])


def _channel(bench: Bench, name: str, quantity: Quantity) -> tuple[BenchChannel, KeyPath]:
    names = [one.name for one in bench.channel]
    if name not in names:
        text = f"--channel {name} is none of {', '.join(names) or 'no channels'}."
        raise InputError([text + nearest(name, names)])
    channel = bench.channel[names.index(name)]
    if not channel.kind.measures(quantity):
        raise InputError([f"--channel {name} of kind {channel.kind} measures no {quantity}."])
    return channel, ("channel", names.index(name))


def _room_pa(channel: BenchChannel, room_mbar: float | None) -> float:
    if channel.reference is PressureReference.ABSOLUTE:
        return 0.0
    if room_mbar is None:
        text = f"channel {channel.name} reads against the room: give --room-mbar as well."
        raise InputError([text])
    return to_pascal(room_mbar, "mbar")


def _read(
    args: argparse.Namespace, bench: Bench, clock: Clock, buses: Callable[[], Buses]
) -> Measured:
    if not 1.0 <= args.seconds <= 600.0:
        raise InputError([f"--seconds {args.seconds:g} must be at least 1 and at most 600."])
    aside(f"Reading {args.channel} for {args.seconds:g} s.")
    heard = listen(bench, clock, args.seconds, buses)
    for one in (one for port in heard for one in measure(port)):
        if one.channel.name == args.channel:
            return one
    said = " ".join(port.link_text for port in heard)
    raise InputError([f"channel {args.channel} gave no readings. {said} Run bagvigil check."])


def _points(path: Path, name: str) -> list[Point]:
    """Points of a channel that were taken since it was last changed."""
    points: list[Point] = []
    for entry in read_log(path):
        if entry.get("what") == "changed" and entry.get("found", {}).get("channel") == name:
            points = []
        elif entry.get("channel") == name and "read_pa" in entry:
            points.append(Point(float(entry["read_pa"]), float(entry["true_pa"])))
    return points


def _corrected(channel: BenchChannel, line: Line) -> dict[str, object]:
    if channel.kind.is_adc:
        zero, full_scale_pa = corrected_transducer(
            line, channel.zero_fraction, channel.span_fraction, channel.full_scale_pa
        )
        return {"zero_fraction": round(zero, 7), "full_scale_pa": round(full_scale_pa, 2)}
    if channel.kind.is_register and channel.unit is not None:
        offset = line.slope * channel.offset + from_pascal(line.zero_pa, channel.unit)
        return {"scale": line.slope * channel.scale, "offset": offset}
    return {}


def _signed(args: argparse.Namespace, clock: Clock) -> Signature:
    return Signature(by=args.by, date=clock.wall())
