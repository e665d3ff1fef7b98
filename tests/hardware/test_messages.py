"""Fields of each kind of line: what is accepted, and what is one step beyond."""

import pytest

from hardware.messages import (
    Command,
    Hello,
    Message,
    Reply,
    SampleLine,
    Status,
    hello_body,
    read_command,
    read_message,
    reply_body,
    sample_body,
    status_body,
)

HELLO = Hello(
    proto=1, firmware="0.3.1", boot_id="00C0FFEE", uid="e6614104", kinds=("adc16s", "tc31855")
)


@pytest.mark.parametrize(
    ("body", "message"),
    [
        (
            "S,1,1000,32768,01901900,00010001",
            SampleLine(seq=1, t_ms=1000, raws=("32768", "01901900", "00010001")),
        ),
        ("S,0,0,-", SampleLine(seq=0, t_ms=0, raws=("-",))),
        ("S,65535,4294967295,-12,!5", SampleLine(seq=65535, t_ms=4294967295, raws=("-12", "!5"))),
        ("S,1,2,,x y", SampleLine(seq=1, t_ms=2, raws=("", "x y"))),
        ("H,1,0.3.1,00C0FFEE,e6614104,2,adc16s,tc31855", HELLO),
        ("H,1,0.3.1,00c0ffee,e6614104,2,adc16s,tc31855", HELLO),
        ("H,2,x,00000000,u,0", Hello(proto=2, firmware="x", boot_id="00000000", uid="u", kinds=())),
        ("Z,65535,86400,3,4987", Status(seq=65535, uptime_s=86400, overruns=3, supply_mv=4987)),
        ("A,?H,1", Reply(command="?H", ok=True)),
        ("A,R,500,0", Reply(command="R,500", ok=False)),
    ],
)
def test_a_well_formed_body_is_read_whole(body: str, message: Message) -> None:
    assert read_message(body) == message


@pytest.mark.parametrize(
    "body",
    [
        "",
        "S",
        "S,1,1000",
        "S,65536,1000,1",
        "S,1,4294967296,1",
        "S,-1,1000,1",
        "S,+1,1000,1",
        "S, 1,1000,1",
        "S,1_0,1000,1",
        "S,0x1,1000,1",
        "S,1.0,1000,1",
        "S,\u0661,1000,1",
        "S,,1000,1",
        "S," + "9" * 200 + ",1,1",
        "s,1,1000,1",
        "X,1,1000,1",
        "SS,1,1000,1",
        "H,1,0.3.1,00C0FFEE,e6614104,3,adc16s,tc31855",
        "H,1,0.3.1,00C0FFEE,e6614104,1,adc16s,tc31855",
        "H,1,0.3.1,00C0FFE,e6614104,1,adc16s",
        "H,1,0.3.1,0xC0FFEE,e6614104,1,adc16s",
        "H,1,0.3.1,00C0FFEG,e6614104,1,adc16s",
        "H,one,0.3.1,00C0FFEE,e6614104,1,adc16s",
        "H,1,,00C0FFEE,e6614104,1,adc16s",
        "H,1,0.3.1,00C0FFEE,,1,adc16s",
        "H,1,0.3.1,00C0FFEE,e6614104,1,",
        "H,1,0.3.1,00C0FFEE,e6614104",
        "Z,1,86400,3",
        "Z,1,86400,3,4987,0",
        "Z,65536,86400,3,4987",
        "Z,1,86400,3,-",
        "A,?H",
        "A,?H,2",
        "A,?H,yes",
        "A,,1",
        "A,1",
    ],
)
def test_an_ill_formed_body_is_not_read_at_all(body: str) -> None:
    assert read_message(body) is None


@pytest.mark.parametrize(
    ("body", "command"),
    [
        ("?H", Command(name="?H")),
        ("I", Command(name="I")),
        ("R,1", Command(name="R", period_ms=1)),
        ("R,500", Command(name="R", period_ms=500)),
        ("R,0", None),
        ("R,-5", None),
        ("R,", None),
        ("R", None),
        ("R,500,1", None),
        ("I,", None),
        ("?H,1", None),
        ("Q", None),
        ("", None),
    ],
)
def test_a_board_reads_the_three_commands_and_no_other(body: str, command: Command | None) -> None:
    assert read_command(body) == command


def test_what_is_written_is_read_back() -> None:
    status = Status(seq=9, uptime_s=10, overruns=0, supply_mv=5012)
    reply = Reply(command="R,250", ok=True)
    assert read_message(hello_body(HELLO)) == HELLO
    assert read_message(status_body(status)) == status
    assert read_message(reply_body(reply)) == reply
    assert read_message(sample_body(3, 4, ["5", "-"])) == SampleLine(seq=3, t_ms=4, raws=("5", "-"))


def test_what_no_reader_would_accept_is_not_written() -> None:
    with pytest.raises(ValueError, match="'S,65536,0,1' is not well formed"):
        sample_body(65536, 0, ["1"])
    with pytest.raises(ValueError, match="is not well formed"):
        sample_body(1, 0, ["1,2"])
    with pytest.raises(ValueError, match="is not well formed"):
        sample_body(1, 0, [])
    with pytest.raises(ValueError, match="is not well formed"):
        status_body(Status(seq=1, uptime_s=-1, overruns=0, supply_mv=0))
    with pytest.raises(ValueError, match="is not well formed"):
        reply_body(Reply(command="", ok=True))
    with pytest.raises(ValueError, match="is not well formed"):
        hello_body(Hello(proto=1, firmware="a,b", boot_id="00000000", uid="u", kinds=()))
