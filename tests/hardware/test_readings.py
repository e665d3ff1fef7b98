"""The faults are the daemon's reasons, word for word."""

from firmware_host.model.samples import Reason
from hardware.readings import FAULTY, Fault


def test_each_fault_is_a_reason_of_the_same_name_and_word() -> None:
    faults = {fault.name: fault.value for fault in Fault}
    assert faults == {reason.name: reason.value for reason in Reason}


def test_a_faulty_reading_has_no_value() -> None:
    assert [(r.value, r.fault) for r in FAULTY.values()] == [(None, fault) for fault in Fault]
