"""What can happen on the bench, as data: each event is one record with its arguments.

An event that concerns the plant says here what it does to it; events of the cable and the board
are for the rig.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Annotated, Protocol

from msgspec import Meta

from simulations.faults import FaultKind
from simulations.plant import Plant

NotNegative = Annotated[float, Meta(ge=0.0, le=1.0e6)]
Share = Annotated[float, Meta(ge=0.0, le=1.0)]


class PlantEvent(Protocol):
    """Something done to the plant."""

    def happen(self, plant: Plant) -> None:
        """Do it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """The initiator goes in."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.mix()


@dataclass(frozen=True, slots=True, kw_only=True)
class BagClosed:
    """The tape goes round."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.vented = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """The bag is opened."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.vented = True


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpOn:
    """The pump is switched on."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.pump.switch(on=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpOff:
    """The pump is switched off, or the power fails."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.pump.switch(on=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpCycles:
    """From now on the pump runs only between two inlet pressures."""

    low_mbar: NotNegative
    high_mbar: NotNegative

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.pump.cycle(100.0 * self.low_mbar, 100.0 * self.high_mbar)


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpRunsFree:
    """The pump leaves its band."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.pump.run_free()


@dataclass(frozen=True, slots=True, kw_only=True)
class PumpWorn:
    """The pump moves less and reaches less."""

    speed_share: Annotated[float, Meta(gt=0.0, le=1.0)] = 0.3
    ultimate_mbar: NotNegative = 120.0

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.pump.wear(speed_share=self.speed_share, ultimate_pa=100.0 * self.ultimate_mbar)


@dataclass(frozen=True, slots=True, kw_only=True)
class ValveShut:
    """The valve between pump and bag is shut."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.valve_opening = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ValveOpen:
    """The valve is opened fully."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.valve_opening = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ValveThrottled:
    """The valve is set to pass this share of the hose's conductance."""

    opening: Share

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.valve_opening = self.opening


@dataclass(frozen=True, slots=True, kw_only=True)
class HosePinched:
    """The hose passes only this share of what it should."""

    share: Share

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.hose_share = self.share


@dataclass(frozen=True, slots=True, kw_only=True)
class GasShared:
    """Another bag, or what stood under a bridge of film, mixes its air in."""

    volume_l: Annotated[float, Meta(gt=0.0, le=1000.0)]

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.share_gas(self.volume_l, plant.surroundings())


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakOpens:
    """The leak is from now on this large, as the rise it makes in the shut, deep bag."""

    pa_per_s: NotNegative

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.open_leak(self.pa_per_s, plant.surroundings())


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakCloses:
    """Somebody pressed the tape down; what is left is the bag's own small leak."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.bag.open_leak(plant.bag.settings.leak_pa_per_s, plant.surroundings())


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatOn:
    """A lamp or a blanket warms the laminate."""

    w_per_m2: NotNegative = 150.0

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.laminate.lamp_w_per_m2 = self.w_per_m2


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatOff:
    """The lamp goes out."""

    def happen(self, plant: Plant) -> None:
        """See the class."""
        plant.laminate.lamp_w_per_m2 = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelFault:
    """Something goes wrong with a channel; see `faults` for what `amount` means."""

    channel: str
    kind: FaultKind
    for_s: Annotated[float, Meta(gt=0.0)] | None = None
    """Absent: for good."""
    amount: float | None = None
    other: str | None = None
    """The partner of a swap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplug:
    """The board's cable is out; the board itself runs on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replug:
    """The cable is back in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reboot:
    """The board starts anew: another boot id, its time from 0."""


LinkEvent = Unplug | Replug | Reboot
Event = PlantEvent | ChannelFault | LinkEvent

EVENTS: dict[str, type[Event]] = {
    "mix": Mix,
    "bag_closed": BagClosed,
    "release": Release,
    "pump_on": PumpOn,
    "pump_off": PumpOff,
    "pump_cycles": PumpCycles,
    "pump_runs_free": PumpRunsFree,
    "pump_worn": PumpWorn,
    "valve_shut": ValveShut,
    "valve_open": ValveOpen,
    "valve_throttled": ValveThrottled,
    "hose_pinched": HosePinched,
    "gas_shared": GasShared,
    "leak_opens": LeakOpens,
    "leak_closes": LeakCloses,
    "heat_on": HeatOn,
    "heat_off": HeatOff,
    "fault": ChannelFault,
    "unplug": Unplug,
    "replug": Replug,
    "reboot": Reboot,
}
"""What `do` may say in a scenario."""


def in_words(event: Event) -> str:
    """Write an event's arguments for the person who watches the bench.

    >>> in_words(LeakOpens(pa_per_s=13.2))
    'pa_per_s 13.2'
    """
    given = asdict(event)  # type: ignore[arg-type]  # every event is a dataclass
    return ", ".join(f"{name} {value}" for name, value in given.items() if value is not None)
