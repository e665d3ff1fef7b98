"""Framing of the serial line: the published vectors, each edge of a line, and any bytes at all."""

import random
from zlib import crc32

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hardware.frames import (
    LONGEST_LINE,
    BodyReader,
    FrameReader,
    encode,
    encode_command,
    encode_hello,
    encode_reply,
    encode_sample,
    encode_status,
)
from hardware.messages import Hello, Message, Reply, SampleLine, Status

VECTOR = b"@S,1,1000,32768,01901900,00010001*14176374\n"
SAMPLE = SampleLine(seq=1, t_ms=1000, raws=("32768", "01901900", "00010001"))


def read(data: bytes) -> list[Message]:
    return FrameReader().feed(data)


def test_the_crc_is_that_of_ieee_802_3() -> None:
    # Check value of CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms.
    assert encode("123456789") == b"@123456789*CBF43926\n"


def test_a_sample_is_framed_as_the_protocol_shows() -> None:
    assert encode_sample(1, 1000, ["32768", "01901900", "00010001"]) == VECTOR
    assert read(VECTOR) == [SAMPLE]


def test_an_empty_body_is_a_frame_but_says_nothing() -> None:
    assert encode("") == b"@*00000000\n"
    assert BodyReader().feed(b"@*00000000\n") == [""]
    reader = FrameReader()
    assert (reader.feed(b"@*00000000\n"), reader.damaged, reader.ignored) == ([], 0, 1)


def test_every_kind_of_line_comes_back_as_it_was_sent() -> None:
    hello = Hello(proto=1, firmware="1.0", boot_id="DEADBEEF", uid="b1", kinds=("adc12",))
    status = Status(seq=0, uptime_s=10, overruns=1, supply_mv=4950)
    reply = Reply(command="R,500", ok=True)
    line = encode_hello(hello) + encode_status(status) + encode_reply(reply) + VECTOR
    assert read(line) == [hello, status, reply, SAMPLE]


@pytest.mark.parametrize("command", ["?H", "R,500", "I"])
def test_a_command_is_framed_for_the_board(command: str) -> None:
    line = encode_command(command)
    assert BodyReader().feed(line) == [command]
    assert line == b"@%b*%08X\n" % (command.encode(), crc32(command.encode()))


def test_an_unknown_command_is_refused() -> None:
    with pytest.raises(ValueError, match=r"'R' is none of \?H, R,<period_ms>, I"):
        encode_command("R")


@pytest.mark.parametrize("body", ["a@b", "a\nb", "a\rb", "tab\t", "caf\u00e9", "\x7f", "\x00"])
def test_a_body_that_the_line_cannot_carry_is_refused(body: str) -> None:
    with pytest.raises(ValueError, match="must be printable ASCII without '@'"):
        encode(body)


def test_a_line_is_at_most_240_bytes() -> None:
    longest = encode("X" * 229)
    assert len(longest) == LONGEST_LINE
    assert BodyReader().feed(longest) == ["X" * 229]
    with pytest.raises(ValueError, match="line of 241 bytes is longer than 240"):
        encode("X" * 230)


def test_a_longer_line_is_damaged_even_with_a_good_crc() -> None:
    body = b"X" * 230
    reader = BodyReader()
    assert reader.feed(b"@%b*%08X\n" % (body, crc32(body))) == []
    assert reader.damaged == 1


def test_the_carriage_return_counts_among_the_240() -> None:
    reader = BodyReader()
    longest, fits = encode("X" * 229), encode("X" * 228)
    assert reader.feed(longest.replace(b"\n", b"\r\n")) == []
    assert reader.feed(fits.replace(b"\n", b"\r\n")) == ["X" * 228]
    assert reader.damaged == 1


def test_carriage_return_and_line_feed_end_a_line_together() -> None:
    reader = FrameReader()
    assert reader.feed(VECTOR.replace(b"\n", b"\r\n")) == [SAMPLE]
    assert (reader.damaged, reader.ignored) == (0, 0)


@pytest.mark.parametrize(
    "line",
    [
        VECTOR.replace(b"14176374", b"14176375"),
        VECTOR.replace(b"32768", b"32769"),
        VECTOR.replace(b"*", b"+"),
        VECTOR.replace(b"\n", b" \n"),
        VECTOR.replace(b"\n", b"\r\r\n"),
        encode("123456789").replace(b"CBF43926", b"cbf43926"),
        b"@\n",
        b"@*0000000\n",
        b"@*000000000\n",
        b"@\xff*%08X\n" % crc32(b"\xff"),
        b"@\x00*%08X\n" % crc32(b"\x00"),
        b"@S,1\t*%08X\n" % crc32(b"S,1\t"),
        encode("S,65536,1000,1"),
        encode("S,1,1000"),
        encode("Z,1,2,3"),
    ],
)
def test_a_line_that_is_not_as_sent_is_counted_damaged(line: bytes) -> None:
    reader = FrameReader()
    assert reader.feed(line) == []
    assert (reader.damaged, reader.ignored) == (1, 0)


@pytest.mark.parametrize(
    "line", [b"boot ok\n", b"2768,0190*14176374\n", b"\xff\xfe\n", b"*00000000\n"]
)
def test_a_line_without_an_at_sign_is_ignored(line: bytes) -> None:
    reader = FrameReader()
    assert reader.feed(line) == []
    assert (reader.damaged, reader.ignored) == (0, 1)


@pytest.mark.parametrize("blank", [b"\n", b"\r\n", b"  \r\n", b"\n\n"])
def test_a_blank_line_is_not_even_counted(blank: bytes) -> None:
    reader = FrameReader()
    assert reader.feed(blank) == []
    assert (reader.damaged, reader.ignored) == (0, 0)


@pytest.mark.parametrize("command", ["?H", "R,500", "I", "Q,1"])
def test_an_intact_line_that_no_board_says_is_ignored(command: str) -> None:
    reader = FrameReader()
    assert reader.feed(encode(command)) == []
    assert (reader.damaged, reader.ignored) == (0, 1)


def test_a_lost_line_feed_costs_only_the_first_of_two_lines() -> None:
    assert read(VECTOR[:-1] + VECTOR) == [SAMPLE]
    assert read(VECTOR[:20] + VECTOR) == [SAMPLE]
    assert read(b"noise\x00@@@" + VECTOR) == [SAMPLE]


def test_a_line_waits_for_its_line_feed() -> None:
    reader = FrameReader()
    assert reader.feed(VECTOR[:-1]) == []
    assert reader.feed(b"") == []
    assert reader.feed(b"\n") == [SAMPLE]


@pytest.mark.parametrize("flood", [b"x", b"@", b"@x", b"\x00", b" ", b"\r"])
def test_a_flood_without_a_line_feed_is_not_kept(flood: bytes) -> None:
    reader = FrameReader()
    for _ in range(50):
        reader.feed(flood * 500)
        assert reader.waiting <= LONGEST_LINE
    assert reader.feed(b"\n" + VECTOR) == [SAMPLE]


def test_a_line_that_never_ends_is_one_damaged_line() -> None:
    reader = FrameReader()
    reader.feed(b"@")
    for _ in range(50):
        reader.feed(b"x" * 500)
        assert reader.waiting <= LONGEST_LINE
    assert reader.feed(b"\n" + VECTOR) == [SAMPLE]
    assert (reader.damaged, reader.ignored) == (1, 0)


def test_a_boot_message_in_two_pieces_is_one_ignored_line() -> None:
    reader = FrameReader()
    for piece in (b"  bo", b"ot ok", b" \r", b"\n"):
        reader.feed(piece)
    assert (reader.damaged, reader.ignored) == (0, 1)


BODIES = st.one_of(
    st.builds(
        lambda seq, t_ms, raws: f"S,{seq},{t_ms},{','.join(raws)}",
        st.integers(0, 65535),
        st.integers(0, 2**32 - 1),
        st.lists(st.sampled_from(["-", "!3", "32767", "-5", "01901900"]), min_size=1, max_size=8),
    ),
    st.text(
        st.characters(min_codepoint=0x20, max_codepoint=0x7E, exclude_characters="@"), max_size=229
    ),
)
GARBAGE = st.one_of(
    st.binary(max_size=300),
    st.text(st.sampled_from("@*\r\n,S0A"), max_size=40).map(str.encode),
)


def cut(data: bytes, rng: random.Random) -> list[bytes]:
    edges = sorted(rng.randrange(len(data) + 1) for _ in range(rng.randrange(12)))
    return [data[a:b] for a, b in zip([0, *edges], [*edges, len(data)], strict=True)]


def harm(data: bytes, rng: random.Random) -> bytes:
    """Flip, drop, insert, double or blank some bytes of a line on its way."""
    harmed = bytearray(data)
    for _ in range(rng.randrange(1, 5)):
        if not harmed:
            break
        at = rng.randrange(len(harmed))
        kind = rng.randrange(5)
        if kind == 0:
            harmed[at] ^= 1 << rng.randrange(8)
        elif kind == 1:
            del harmed[at : at + rng.randrange(1, 4)]
        elif kind == 2:
            harmed[at:at] = rng.choice([b"\n", b"@", b"*", b"\x00", b"\r\n", rng.randbytes(3)])
        elif kind == 3:
            harmed[at:at] = harmed[at : at + rng.randrange(1, 30)]
        else:
            harmed[at : at + 2] = b"\x00\x00"
    return bytes(harmed)


@settings(max_examples=1000, deadline=None)
@given(
    st.lists(st.one_of(BODIES.map(encode), GARBAGE), max_size=6), st.randoms(use_true_random=False)
)
def test_chunking_changes_nothing(parts: list[bytes], rng: random.Random) -> None:
    data = b"".join(parts)
    whole, chunked = BodyReader(), BodyReader()
    wanted = whole.feed(data)
    got: list[str] = []
    for chunk in cut(data, rng):
        got += chunked.feed(chunk)
        assert chunked.waiting <= LONGEST_LINE
    got += chunked.feed(b"\n")
    wanted += whole.feed(b"\n")
    assert (got, chunked.damaged, chunked.ignored) == (wanted, whole.damaged, whole.ignored)


@settings(max_examples=600, deadline=None)
@given(st.lists(BODIES, max_size=6), st.randoms(use_true_random=False))
def test_what_was_sent_intact_arrives_whole_and_in_order(
    bodies: list[str], rng: random.Random
) -> None:
    reader = BodyReader()
    got: list[str] = []
    for chunk in cut(b"".join(map(encode, bodies)), rng):
        got += reader.feed(chunk)
    assert (got, reader.damaged, reader.ignored) == (bodies, 0, 0)


@settings(max_examples=1000, deadline=None)
@given(st.lists(BODIES, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_every_body_accepted_is_one_that_was_sent(bodies: list[str], rng: random.Random) -> None:
    reader = BodyReader()
    got: list[str] = []
    for body in bodies:
        line = encode(body)
        got += reader.feed(harm(line, rng) if rng.random() < 0.7 else line)
    assert set(got) <= set(bodies)


@settings(max_examples=600, deadline=None)
@given(GARBAGE, st.lists(BODIES, min_size=2, max_size=4))
def test_after_any_garbage_at_most_one_good_line_is_lost(garbage: bytes, bodies: list[str]) -> None:
    reader = BodyReader()
    reader.feed(garbage)
    assert reader.feed(b"".join(map(encode, bodies)))[-(len(bodies) - 1) :] == bodies[1:]


@settings(max_examples=600, deadline=None)
@given(st.lists(GARBAGE, max_size=8))
def test_no_bytes_raise(chunks: list[bytes]) -> None:
    reader = FrameReader()
    for chunk in chunks:
        reader.feed(chunk)
        assert reader.waiting <= LONGEST_LINE
