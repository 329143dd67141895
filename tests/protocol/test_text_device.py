"""Boards with a plain language of their own, described by the oven file."""

import pytest

from kilnctl.devices import identity
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.languages.reply_patterns import pattern
from kilnctl.errors import ConfigError, DeviceError
from kilnctl.readings import Quality

ON = HeatRequest(True, 1.0)


def test_patterns_are_literal_except_for_their_fields():
    expected = pattern("T={process} (C) H={heater}", ())
    assert expected.fullmatch("T=-12.50 (C) H=1").groupdict() == {"process": "-12.50", "heater": "1"}
    for bad in (
        "T=20 C H=1",
        "T=2O (C) H=1",
        "T= (C) H=1",
        "T=20 (C) H=1 ",
        "xT=20 (C) H=1",
        "T=nan (C) H=1",
    ):
        assert expected.fullmatch(bad) is None


def test_exact_lines_both_ways(text_bench):
    text_bench.oven_io.connect()
    assert text_bench.board.requests[:2] == [b"h 0\n", b"t?\n"]
    scan = text_bench.oven_io.scan(0)
    assert (scan.process.value, scan.heat_on) == (20.0, False)
    assert text_bench.oven_io.drive(ON)
    assert text_bench.oven_io.feed()
    assert (text_bench.heater, text_bench.board.alive) == (1, 10)
    assert text_bench.oven_io.off()
    assert text_bench.heater == 0


def test_word_for_an_open_sensor(text_bench):
    text_bench.oven_io.connect()
    text_bench.board.shown = "nan"
    assert text_bench.oven_io.scan(0).process.quality is Quality.OPEN


def test_a_reply_that_does_not_fit_is_no_reading(text_bench):
    text_bench.oven_io.connect()
    text_bench.board.shown = "20.0 ?"
    assert text_bench.oven_io.scan(0).process.quality is Quality.BAD_REPLY


@pytest.mark.parametrize("around", ["{}!", "!{}", "{} 7"])
def test_anything_before_or_behind_a_reply_spoils_it(text_bench, around):
    text_bench.oven_io.connect()
    text_bench.board.fault = lambda request, reply: [
        (0.001, around.format(reply.decode().strip()).encode() + b"\n")
    ]
    assert text_bench.oven_io.scan(0).process.quality is Quality.BAD_REPLY


def test_echo_is_taken_only_where_the_file_says_so(text_bench, text_bench_of):
    text_bench.board.echo = True
    with pytest.raises(DeviceError, match="cannot be read back as off"):
        text_bench.oven_io.connect()
    told = text_bench_of('banner = "ready"', 'banner = "ready"\nechoes = true')
    told.board.echo = True
    told.oven_io.connect()
    assert told.oven_io.scan(0).process.value == 20.0


def test_checksum_of_the_device(text_bench_of):
    bench = text_bench_of('port = "bus"\nbanner', 'port = "bus"\nchecksum = "xor8"\nbanner')
    plain = bench.board.answer

    def checked(request):
        text = request.decode().strip()
        body, _, digits = text.rpartition("*")
        value = 0
        for byte in body.encode():
            value ^= byte
        assert digits == f"{value:02X}"
        reply = plain(body.encode() + b"\n")[0][1].strip()
        value = 0
        for byte in reply:
            value ^= byte
        return [(0.001, reply + f"*{value:02X}\n".encode())]

    bench.board.answer = checked
    bench.oven_io.connect()
    assert bench.oven_io.scan(0).process.value == 20.0
    bench.line._answer = lambda request: [(0.001, b"T=20.0 H=0*00\n")]
    assert bench.oven_io.scan(1).process.quality is Quality.BAD_REPLY


def test_a_restart_in_mid_run_is_noticed_by_its_banner(text_bench):
    text_bench.oven_io.connect()
    text_bench.oven_io.scan(0)
    assert text_bench.oven_io.drive(ON)
    text_bench.board.fault = lambda request, reply: [(0.001, b"ready v1\n")]
    assert not text_bench.oven_io.scan(1).process.good
    text_bench.board.fault = None
    text_bench.clock.advance(1)
    scan = text_bench.oven_io.scan(2)
    assert scan.process.good
    assert scan.heat_on is False


def test_trickling_lines_do_not_hold_the_bus(text_bench):
    text_bench.oven_io.connect()
    text_bench.board.fault = lambda request, reply: [(0.15 * i, b"x") for i in range(100)]
    before = text_bench.clock.real_s()
    assert not text_bench.oven_io.scan(1).process.good
    assert text_bench.clock.real_s() - before < 2.5


def test_a_board_that_names_itself_in_the_words_of_its_banner_has_not_restarted(text_bench_of, monkeypatch):
    """An invented hob said `ready v1` to both: every look was a restart, its lamp never lit, no heat began.

    A board is asked who it is only where a simulator may be: at a pseudo-terminal, such as line servers make.
    """
    monkeypatch.setattr(identity, "is_pseudo_terminal", lambda path: True)
    bench = text_bench_of('banner = "ready"', 'who = "v?"\nbanner = "ready"')
    bench.board.fault = lambda request, reply: [(0.002, b"ready v1\n" if request == b"v?\n" else reply)]
    bench.oven_io.connect()
    scan = bench.oven_io.scan(0)
    assert (scan.process.good, scan.link.restarts) == (True, 0)
    assert bench.oven_io.drive(ON)
    assert bench.heater == 1


def test_an_answer_that_begins_like_the_banner_is_refused_in_the_file(text_bench_of):
    with pytest.raises(ConfigError, match="the answer to t\\? begins like it"):
        text_bench_of('banner = "ready"', 'banner = "T="')


def test_a_board_that_takes_one_line_end_and_answers_with_another(text_bench_of):
    """An invented oven board took Enter (CR) and answered CR LF: with one of them both ways none went."""
    bench = text_bench_of('banner = "ready"', 'banner = "ready"\nanswer_end = "CR LF"')
    bench.board.fault = lambda request, reply: [(0.002, reply.replace(b"\n", b"\r\n"))]
    bench.oven_io.connect()
    assert bench.board.requests[0].endswith(b"0\n")
    for _ in range(3):
        assert bench.oven_io.scan(0).process.good
    assert bench.oven_io.scan(0).link.foreign == 0


def test_a_command_of_which_the_end_is_no_answers_end_is_refused(text_bench_of):
    with pytest.raises(ConfigError, match="answer_end"):
        text_bench_of('banner = "ready"', 'banner = "ready"\nanswer_end = "RETURN"')
