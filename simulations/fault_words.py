"""A fault in one line of words, for the command line: `part1 detached at=4500 for=600`."""

from __future__ import annotations

from dataclasses import replace

from firmware_host.model.channels import Quantity
from simulations.events import ChannelFault
from simulations.fault_checks import clashes, problems_with
from simulations.faults import (
    DEFAULT_AMOUNTS,
    LINE_AMOUNTS,
    LINE_MEANINGS,
    MEANINGS,
    Fault,
    FaultKind,
)
from simulations.scenario import Planned, Scenario
from simulations.tables import ScenarioError, nearest

FORM = "CHANNEL KIND [at=S] [for=S] [amount=X] [other=CHANNEL]"
NUMBERS = ("at", "for", "amount")
KEYS = (*NUMBERS, "other")


def read_fault(text: str) -> Fault:
    """Read a fault from its words.

    Raises ScenarioError with what is wrong.

    >>> read_fault("bag stuck at=600 for=60").end_s
    660.0
    """
    head, options = _split(text)
    if len(head) != 2:
        raise ScenarioError([f"--fault {text!r}: write {FORM}"])
    channel, kind = head
    kinds = [one.value for one in FaultKind]
    if kind not in kinds:
        raise ScenarioError([f"--fault {text!r}: no kind {kind!r}{nearest(kind, kinds)}"])
    numbers = {key: _number(text, key, options[key]) for key in NUMBERS if key in options}
    start_s, for_s = numbers.get("at", 0.0), numbers.get("for")
    fault = Fault(
        channel=channel,
        kind=FaultKind(kind),
        start_s=start_s,
        end_s=None if for_s is None else start_s + for_s,
        amount=numbers.get("amount"),
        other=options.get("other"),
    )
    problems = [*problems_with(fault), *_time_problems(start_s, for_s)]
    if problems:
        raise ScenarioError([f"--fault {text!r}: {problem}" for problem in problems])
    return fault


def with_faults(scenario: Scenario, texts: list[str]) -> Scenario:
    """Add faults to a scenario.

    Raises ScenarioError with every problem found.
    """
    problems: list[str] = []
    planned = [*scenario.events]
    for text in texts:
        try:
            fault = read_fault(text)
        except ScenarioError as wrong:
            problems += wrong.problems
            continue
        if fault.start_s > scenario.head.length_s:
            problems.append(
                f"--fault {text!r}: at={fault.start_s:g} lies beyond the end of "
                f"{scenario.head.name} at {scenario.head.length_s:g} s"
            )
        planned.append(Planned(at_s=fault.start_s, name="fault", event=_event(fault)))
    changed = replace(scenario, events=tuple(sorted(planned, key=lambda one: one.at_s)))
    problems += [f"--fault: {clash}" for clash in clashes(changed.faults())] if texts else []
    if problems:
        raise ScenarioError(problems)
    return changed


def help_text() -> str:
    """List what can go wrong with a channel and with the line."""
    lines = [f"--fault takes {FORM}; times in seconds, without for= for good.", "", "channels:"]
    for kind, meaning in MEANINGS.items():
        usual = DEFAULT_AMOUNTS.get(kind)
        amounts = "" if usual is None else " Usual: " + " or ".join(f"{a:g}" for a in _few(usual))
        lines.append(f"  {kind:13} {meaning}{amounts}")
    lines += ["", "the serial line itself (channel `line`, with --link):"]
    for kind, meaning in LINE_MEANINGS.items():
        amount = f" Usual: {LINE_AMOUNTS[kind]:g}" if kind in LINE_AMOUNTS else ""
        lines.append(f"  {kind:13} {meaning}{amount}")
    return "\n".join(lines)


def _few(usual: dict[Quantity, float]) -> list[float]:
    return list(dict.fromkeys(usual.values()))


def _event(fault: Fault) -> ChannelFault:
    return ChannelFault(
        channel=fault.channel,
        kind=fault.kind,
        for_s=None if fault.end_s is None else fault.end_s - fault.start_s,
        amount=fault.amount,
        other=fault.other,
    )


def _split(text: str) -> tuple[list[str], dict[str, str]]:
    head, options = [], {}
    for word in text.split():
        key, equals, value = word.partition("=")
        if not equals:
            head.append(word)
        elif key not in KEYS:
            raise ScenarioError([f"--fault {text!r}: no option {key!r}{nearest(key, list(KEYS))}"])
        elif key in options:
            raise ScenarioError([f"--fault {text!r}: {key}= is given twice"])
        else:
            options[key] = value
    return head, options


def _number(text: str, key: str, value: str) -> float:
    try:
        return float(value)
    except ValueError:
        raise ScenarioError([f"--fault {text!r}: {key}={value} is no number"]) from None


def _time_problems(start_s: float, for_s: float | None) -> list[str]:
    problems = []
    if not 0.0 <= start_s < float("inf"):
        problems.append(f"at={start_s:g} must be 0 or above")
    if for_s is not None and not 0.0 < for_s < float("inf"):
        problems.append(f"for={for_s:g} must be above 0")
    return problems
