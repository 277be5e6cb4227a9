"""Logs as loggers and people write them, each with its oddity and the note that tells of it.

The logs are written here by hand; their times and readings were converted by hand, too.
"""

from datetime import datetime

import numpy as np
import pytest

from mixjt.case.log_file import read_log
from mixjt.case.log_headers import header_of, unit_kind
from mixjt.errors import InputError
from mixjt.studies.trial.log import PLACES, LogRequest

HEAD = "time [s];p suction [bar g];T evap [degC]"
PLAIN = [f"{10 * k};1.5;{-100 - k}" for k in range(8)]


def read(tmp_path, lines, encoding="utf-8", **request):
    path = tmp_path / "run.csv"
    path.write_bytes(("\n".join(lines) + "\n").encode(encoding))
    return read_log(path, LogRequest(**request))


def note(log, word):
    """The one note with this word."""
    (found,) = [text for text in log.notes if word in text]
    return found


def test_a_plain_log(tmp_path):
    log = read(tmp_path, [HEAD, *PLAIN], atmosphere=95000.0)
    assert log.times.tolist() == [10.0 * k for k in range(8)] and log.started == "0"
    assert log.readings["suction"] == pytest.approx(245000.0)
    assert log.readings["evaporator"] == pytest.approx(173.15 - np.arange(8))
    assert [(one.header, one.place, one.unit, one.guessed) for one in log.columns] == [
        ("p suction [bar g]", "suction", "bar g", True),
        ("T evap [degC]", "evaporator", "degC", True),
    ]
    assert (log.clock.header, log.clock.unit, log.clock.guessed) == ("time [s]", "s", True)
    assert log.notes == ()


@pytest.mark.parametrize(
    "lines",
    [
        [line.replace(";", "\t") for line in (HEAD, *PLAIN)],
        [line.replace(";", ",") for line in (HEAD, *PLAIN)],
        [line.replace(";", "|") for line in (HEAD, *PLAIN)],
        [line + ";" for line in (HEAD, *PLAIN)],
        [line.replace(";", " ; ") for line in (HEAD, *PLAIN)],
        [HEAD, *(line.replace(".", ",") for line in PLAIN)],
        [HEAD.replace(";", ",")] + [",".join(f'"{t}"' for t in line.replace(".", ",").split(";")) for line in PLAIN],
        ["\ufeff" + HEAD, *PLAIN],
        [HEAD, *(line.replace("-", "\u2212") for line in PLAIN)],
    ],
    ids=["tab", "comma", "bar", "ending", "blanks", "decimal comma", "quoted", "byte order mark", "minus"],
)  # fmt: skip
def test_the_same_log_in_other_spellings(tmp_path, lines):
    log = read(tmp_path, lines)
    assert log.readings["suction"] == pytest.approx(251325.0) and log.notes == ()
    assert log.readings["evaporator"] == pytest.approx(173.15 - np.arange(8))


@pytest.mark.parametrize("ending", ["\r\n", "\r"])
def test_line_endings(tmp_path, ending):
    path = tmp_path / "run.csv"
    path.write_bytes(ending.join([HEAD, *PLAIN]).encode())
    assert read_log(path, LogRequest()).times.size == 8


def test_encodings(tmp_path):
    lines = ["time [s];T evap (°C)", *(f"{k};-100" for k in range(6))]
    for encoding, told in (("utf-8", False), ("utf-16", False), ("latin-1", True)):
        log = read(tmp_path, lines, encoding)
        assert log.readings["evaporator"] == pytest.approx(173.15)
        assert log.notes == (("not UTF-8, read as Latin-1",) if told else ())


def test_what_does_not_belong_to_the_table_is_told(tmp_path):
    lines = [
        "# our logger",
        "first run;Anna",
        "",
        HEAD,
        *PLAIN[:4],
        "",
        "# valve touched",
        *PLAIN[4:],
        HEAD,
        "80;1.5",
    ]
    log = read(tmp_path, lines)
    assert note(log, "empty, left out") == "2 lines, first line 3: empty, left out"
    assert note(log, "comment") == "2 lines, first line 1: a comment, left out"
    assert note(log, "before the header").startswith("line 2: ")
    assert note(log, "the header again").startswith("line 15: ")
    assert note(log, "fewer values").startswith("line 16: ")
    assert (
        log.times.size == 9
        and np.isnan(log.readings["suction"][8])
        and np.isnan(log.readings["evaporator"][8])
    )


def test_a_header_in_a_comment_and_units_in_a_line_of_their_own(tmp_path):
    assert read(tmp_path, ["# " + HEAD, *PLAIN]).times.size == 8
    log = read(tmp_path, ["time;p suction;T evap", "s;psig;K", *(f"{k};10;150" for k in range(6))])
    assert log.readings["suction"] == pytest.approx(
        101325.0 + 10 * 6894.757
    )  # of a psi, NIST SP 811 (from memory)
    assert note(log, "units").startswith("line 2: ")


def test_mixed_separators_and_decimal_signs(tmp_path):
    log = read(tmp_path, [HEAD, *PLAIN[:5], "50,1.5,-105", "60;1,5;-106", "70\t1.5\t-107"])
    assert log.readings["suction"] == pytest.approx(251325.0) and log.times[-1] == 70.0
    assert (
        note(log, "another separator")
        == "2 lines, first line 7: another separator than the semicolon of the other lines"
    )
    assert (
        note(log, "decimal comma")
        == 'line 8: "p suction [bar g]" has a decimal comma, unlike its other lines'
    )


def test_decimal_commas_between_commas_are_refused(tmp_path):
    lines = ["time [s],p suction [bar g],T evap [degC]", *(f"{k},1,5,-100,5" for k in range(6))]
    with pytest.raises(InputError, match="export with semicolons"):
        read(tmp_path, lines)


def test_a_last_column_that_is_empty_throughout_or_mostly(tmp_path):
    for tail in (";", ""):
        log = read(tmp_path, [f"{HEAD};heater [W]", *(line + tail for line in PLAIN)])
        assert log.readings["evaporator"] == pytest.approx(173.15 - np.arange(8)) and "heater" not in log.readings
        assert note(log, "no reading at all")
        assert tail or note(log, "fewer values than columns").startswith("8 lines")
    log = read(tmp_path, [f"{HEAD};heater [W]", *(line + ";" for line in PLAIN), "80;1.5;-108;5"])
    assert log.readings["heater"][-1] == 5.0 and np.isnan(log.readings["heater"][:-1]).all()
    log = read(tmp_path, ["our;logger;of;the;club", f"{HEAD}", *(line + ";" for line in PLAIN)])
    assert log.readings["evaporator"].size == 8 and note(log, "before the header")


def test_a_line_with_too_many_values_is_left_out(tmp_path):
    log = read(tmp_path, [HEAD, *PLAIN, "80;1.5;-108;7;8", "90;1.5;-109"])
    assert note(log, "more values").startswith("line 10: ") and log.times.tolist()[-2:] == [70.0, 90.0]


def clock(tmp_path, stamps, header="time", **request):
    return read(tmp_path, [f"{header};T evap [K]", *(f"{stamp};150" for stamp in stamps)], **request)


@pytest.mark.parametrize(
    "stamps",
    [
        ["2026-10-03T21:14:05Z", "2026-10-03T21:14:15Z", "2026-10-03T23:14:25+02:00", "2026-10-03T21:14:35Z"],
        ["2026-10-03 21:14:05", "2026-10-03 21:14:15.0", "2026-10-03 21:14:25", "2026-10-03 21:14:35,00"],
        ["03.10.2026 21:14:05", "03.10.2026 21:14:15", "03.10.2026 21:14:25", "03.10.2026 21:14:35"],
        ["10/3/2026 9:14:05 PM", "10/3/2026 9:14:15 PM", "10/3/2026 9:14:25 PM", "10/3/2026 9:14:35 PM"],
        ["21:14:05", "21:14:15", "21:14:25", "21:14:35"],
    ],
)
def test_stamps(tmp_path, stamps):
    more = [stamps[0].replace("14:05", "14:45"), stamps[0].replace("14:05", "14:55")]
    log = clock(tmp_path, stamps + more)
    assert log.times == pytest.approx(np.arange(0.0, 60.0, 10.0)) and log.notes == ()
    assert log.clock.unit == "clock" and log.started == stamps[0]


def test_time_in_minutes_and_hours(tmp_path):
    assert clock(tmp_path, range(6), "t [min]").times[-1] == 300.0
    assert clock(tmp_path, [f"0,{k}" for k in range(6)], "elapsed", time_unit="h").times[-1] == pytest.approx(
        1800.0
    )


def test_midnight(tmp_path):
    log = clock(tmp_path, ["23:59:40", "23:59:50", "00:00:00", "00:00:10", "00:00:20"])
    assert log.times.tolist() == [0.0, 10.0, 20.0, 30.0, 40.0]
    assert log.notes == ("line 4: the clock passes midnight",)


def test_midnight_of_a_clock_with_halves_of_the_day_and_an_hour_set_back(tmp_path):
    log = clock(tmp_path, ["11:59:40 PM", "11:59:50 PM", "12:00:00 AM", "12:00:10 AM", "12:00:20 AM"])
    assert log.times.tolist() == [0.0, 10.0, 20.0, 30.0, 40.0]
    noon = clock(tmp_path, ["11:59:40 am", "11:59:50 am", "12:00:00 pm", "12:00:10 pm", "12:00:20 pm"])
    assert noon.times.tolist() == log.times.tolist() and noon.notes == ()
    winter = [*(f"2026-10-25 02:59:{k}0" for k in range(6)), *(f"2026-10-25 02:00:{k}0" for k in range(6))]
    log = clock(tmp_path, winter)
    assert log.times.tolist() == [10.0 * k for k in range(12)] and note(log, "jumps back").startswith("line 8: ")


def test_dates_that_may_be_read_in_two_ways(tmp_path):
    stamps = ["03/10/2026 23:59:40", "03/10/2026 23:59:50", *(f"04/10/2026 00:00:{k}0" for k in range(4))]
    with pytest.raises(InputError, match="date_order"):
        clock(tmp_path, stamps)
    assert clock(tmp_path, stamps, date_order="day first").times[-1] == 50.0
    apart = datetime(2026, 4, 10) - datetime(2026, 3, 10, 23, 59, 40)
    assert clock(tmp_path, stamps, date_order="month first").times[2] == apart.total_seconds()


def test_dates_that_can_be_read_in_one_way_only(tmp_path):
    stamps = ["10/31/2026 23:59:50", *(f"11/1/2026 00:00:{k}0" for k in range(5))]  # there is no month 31
    assert clock(tmp_path, stamps).times.tolist() == [10.0 * k for k in range(6)]


def test_date_and_time_in_two_columns(tmp_path):
    lines = [
        "Date;Time;T evap [K]",
        "3/10/2026;23:59:50;150",
        *(f"4/10/2026;00:00:{k}0;150" for k in range(4)),
    ]
    assert read(tmp_path, lines, date_order="day first").times[-1] == 40.0


def test_a_repeated_time_keeps_its_first_line(tmp_path):
    log = read(
        tmp_path, ["t [s];T evap [K]", "0;150", "10;151", "10;190", "10;190", "20;152", "30;153", "40;154"]
    )
    assert log.readings["evaporator"].tolist() == [150.0, 151.0, 152.0, 153.0, 154.0]
    assert (
        note(log, "same time")
        == "2 lines, first line 4: the same time as the line before, left out: the first one counts"
    )


def test_a_line_out_of_turn_and_a_clock_set_back(tmp_path):
    log = clock(tmp_path, [0, 10, 20, 5, 30, 40, 50], "t [s]")
    assert log.times.tolist() == [0.0, 10.0, 20.0, 30.0, 40.0, 50.0] and note(log, "out of turn").startswith(
        "line 5: "
    )
    stamps = [f"21:{k // 6 + 10}:{k % 6}0" for k in range(12)] + [
        f"21:0{k // 6 + 5}:{k % 6}0" for k in range(9)
    ]
    log = clock(tmp_path, stamps)
    assert log.times.tolist() == [10.0 * k for k in range(21)]
    assert note(log, "jumps back").startswith("line 14: ") and "10 s" in note(log, "jumps back")


def test_a_log_with_its_newest_line_first(tmp_path):
    log = read(tmp_path, [HEAD, *reversed(PLAIN)], atmosphere=95000.0)
    assert log.times.tolist() == [10.0 * k for k in range(8)] and log.started == "0"
    assert log.readings["evaporator"] == pytest.approx(173.15 - np.arange(8))
    assert "read from its end" in note(log, "newest line")
    midnight = clock(tmp_path, [f"00:00:{k}0" for k in range(5, -1, -1)] + ["23:59:50", "23:59:40"])
    assert midnight.times.tolist() == [10.0 * k for k in range(8)] and note(midnight, "midnight") and note(midnight, "newest line")


def test_a_gap_and_unreadable_times(tmp_path):
    log = clock(tmp_path, [0, 10, 20, "?", 40, 50, 650, 660], "t [s]")
    assert log.times.tolist() == [0.0, 10.0, 20.0, 40.0, 50.0, 650.0, 660.0]
    assert note(log, "no time") == 'line 5: no time can be read from "?", left out'
    assert note(log, "a gap").startswith("line 8: ") and "10 min" in note(log, "a gap")


def evaporator(tmp_path, cells, unit="degC", step=10):
    log = read(
        tmp_path,
        [f"t [s];T evap [{unit}];T shell [degC]", *(f"{step * k};{cell};40" for k, cell in enumerate(cells))],
    )
    return log, np.flatnonzero(np.isnan(log.readings["evaporator"])).tolist()


@pytest.mark.parametrize("word", ["", "---", "NaN", "ERR", "#N/A", "OL", "inf", "n.a.", "12.5.1"])
def test_a_cell_without_a_number(tmp_path, word):
    log, missing = evaporator(tmp_path, [-100, -101, word, -103, word, -105])
    assert missing == [2, 4]
    assert note(log, '"T evap [degC]"').startswith("2 lines, first line 4: ")
    assert not word or f'"{word}"' in note(log, "no number")


@pytest.mark.parametrize("shown", [1372, 400, 850, 9999, -273.15, -999, -200, 0, 85, -127])
def test_an_open_sensor(tmp_path, shown):
    log, missing = evaporator(tmp_path, [-150, -150.1, shown, shown, shown, -150.5, -150.6])
    assert missing == [2, 3, 4] and "3 lines, first line 4" in note(log, "taken as no reading")


def test_the_same_values_reached_evenly_are_readings(tmp_path):
    assert evaporator(tmp_path, [2, 1, 0, 0, 0, -1, -2])[1] == []
    assert evaporator(tmp_path, [-198, -199, -200, -200, -200, -199, -198])[1] == []
    assert evaporator(tmp_path, [80, 83, 85, 85, 85, 84, 80])[1] == []


def test_a_single_leap_and_a_step(tmp_path):
    log, missing = evaporator(tmp_path, [-150, -150, -60, -150, -150, -150])
    assert missing == [2] and "line 4" in note(log, "and back")
    assert evaporator(tmp_path, [-150, -150, -150, -110, -110, -110])[1] == []


def test_pressures_below_vacuum_and_watts_below_zero(tmp_path):
    lines = [
        "t [s];p suction [barg];P [W]",
        *(f"{k};{p};{w}" for k, (p, w) in enumerate([(1, 200), (-1.2, -3), (1, -50), (1, 200), (-0.5, 200)])),
    ]
    log = read(tmp_path, lines)
    assert np.isnan(log.readings["suction"]).tolist() == [False, True, False, False, False]
    assert log.readings["power"][:2].tolist() == [200.0, 0.0] and np.isnan(log.readings["power"][2])
    assert note(log, "at or below vacuum").startswith("line 3: ") and note(log, "taken as zero").startswith(
        "line 3: "
    )
    assert note(log, "is below zero").startswith("line 4: ")


def test_a_sensor_that_hangs_is_told_and_kept(tmp_path):
    cells = [f"{60 * k};{-20 - 3 * k};{-30 - 3 * min(k, 20)}" for k in range(40)]
    log = read(tmp_path, ["t [s];T evap [degC];T throttle in [degC]", *cells])
    assert np.isfinite(log.readings["throttle inlet"]).all()
    assert note(log, "hangs").startswith('line 22: "T throttle in [degC]" stays the same for 19 min')
    still = read(
        tmp_path,
        ["t [s];T evap [degC];T throttle in [degC]", *(f"{60 * k};-100;{-90 - k % 2}" for k in range(40))],
    )
    assert still.notes == ()


def test_a_coarse_display_does_not_hang(tmp_path):
    cells = [
        f"{60 * k};{-20 - k / 2};{round(-20 - k / 12)};{1 + k / 200:.1f};{10 - k / 50:.2f}" for k in range(40)
    ]
    head = "t [s];T evap [degC];T aftercooler [degC];p low [barg];p high [barg]"
    assert read(tmp_path, [head, *cells]).notes == ()


@pytest.mark.parametrize(
    "header, kind, unit, places",
    [
        ("p_low [bar g]", "pressure", "bar g", ("suction",)),
        ("p_low_bar_g", "pressure", "bar g", ("suction",)),
        ("Psuc psig", "pressure", "psig", ("suction",)),
        ("Pd (bar(g))", "pressure", "bar(g)", ("discharge",)),
        ("Suction pressure abs [kPa]", "pressure", "kPa abs", ("suction",)),
        ("suction pressure", "pressure", "", ("suction",)),
        ("T evap (°C)", "temperature", "°C", ("evaporator",)),
        ("TEvapOut (ºC)", "temperature", "°C", ("evaporator",)),
        ("T (cold) [K]", "temperature", "K", ("evaporator",)),
        ("T evap in / K", "temperature", "K", ("throttle outlet",)),
        ("before capillary, degC", "temperature", "degC", ("throttle inlet",)),
        ("temperature after condenser degF", "temperature", "degF", ("aftercooler outlet",)),
        ("suction line degC", "temperature", "degC", ("suction line",)),
        ("discharge line temp", "temperature", "", ("discharge line",)),
        ("room air [C]", "temperature", "C", ("ambient",)),
        ("EVAP (Deg. C)", "temperature", "degC", ("evaporator",)),
        ("SUCTION PSIG", "pressure", "psig", ("suction",)),
        ("P_HIGH [Bar(g)]", "pressure", "bar(g)", ("discharge",)),
        ("p high [bar rel.]", "pressure", "bar gauge", ("discharge",)),
        ("Volts", "voltage", "V", ("voltage",)),
        ("I [mA]", "current", "mA", ("current",)),
        ("P_el [kW]", "power", "kW", ("power",)),
        ("heater W", "power", "W", ("heater",)),
        ("discharge", None, "", ("discharge", "discharge line")),
        ("heater voltage [V]", "voltage", "V", ()),
        ("battery [V]", "voltage", "V", ()),
        ("dp suction [bar]", "pressure", "bar", ()),
        ("aftercooler inlet [degC]", "temperature", "degC", ()),
        ("T1 [C]", "temperature", "C", ()),
        ("apparent power [VA]", "power", "", ()),
    ],
)
def test_headers(header, kind, unit, places):
    found = header_of(header)
    assert (found.kind, found.unit, found.places, found.is_time) == (kind, unit, places, False)


@pytest.mark.parametrize("place", PLACES, ids=lambda place: place.name)
def test_a_place_is_known_by_its_own_name(place):
    kind = {"pressure": "bar g", "temperature": "K", "voltage": "V", "current": "A", "power": "W"}[place.kind]
    assert header_of(f"{place.name} [{kind}]").places == (place.name,)


def test_units_of_nothing_that_is_read():
    assert [unit_kind(unit) for unit in ("", "VA", "kVA", "m", "7", "banana", "s")] == [None] * 7


@pytest.mark.parametrize(
    "header, request_, complaint",
    [
        ("p suction [bar]", {}, '"bar" may be gauge or absolute; say "bar g" or "bar abs"'),
        ("p suction [psi]", {}, 'give [trial] units = {suction = "psi g"}'),
        ("p suction", {}, 'column "p suction": taken for suction, but its unit is not told'),
        ("suction", {}, 'column "suction" may read suction or suction line; say it with [trial] columns'),
        (
            "T shell [degC];shell 2 [degC]",
            {},
            'columns "T shell [degC]" and "shell 2 [degC]" may both read shell',
        ),
        (
            "T3 [degC]",
            {"columns": {"shell": "T4 [degC]"}},
            'no column "T4 [degC]", which [trial] columns shell names; did you',
        ),
        ("T3 [degC];T3 [degC]", {"columns": {"shell": "T3 [degC]"}}, '2 columns are called "T3 [degC]"'),
        ("T3 [V]", {"columns": {"shell": "T3 [V]"}}, '"V" is not a unit of temperature'),
        ("T3 [degC]", {}, "no column that is known holds a reading"),
    ],
)
def test_a_column_that_cannot_be_told(tmp_path, header, request_, complaint):
    with pytest.raises(InputError) as error:
        read(
            tmp_path,
            [f"t [s];{header}", *(f"{k}" + ";1" * (header.count(";") + 1) for k in range(6))],
            **request_,
        )
    assert complaint in str(error.value) and "\n" not in str(error.value)


def test_what_the_case_says_of_columns(tmp_path):
    lines = ["stamp;A;B;C;shell [degC];shell 2 [degC]", *(f"{k};1;20;-150;30;31" for k in range(6))]
    log = read(
        tmp_path, lines, time="stamp", time_unit="min", columns={"suction": "A", "evaporator": "C"}, heater=3.0,
        units={"suction": "bar g", "evaporator": "degC"}, ignored=("shell 2 [degC]",),
    )  # fmt: skip
    assert log.times[-1] == 300.0 and log.readings["heater"].tolist() == [3.0] * 6
    assert {name: values[0] for name, values in log.readings.items()} == pytest.approx(
        {"suction": 201325.0, "evaporator": 123.15, "shell": 303.15, "heater": 3.0}
    )
    assert [(one.place, one.guessed) for one in log.columns] == [
        ("suction", False),
        ("evaporator", False),
        ("shell", True),
    ]
    assert note(log, "not used") == "columns not used: B, shell 2 [degC]"


def test_a_unit_of_the_case_goes_before_that_of_the_header(tmp_path):
    log = read(
        tmp_path, ["t [s];p suction [bar]", *(f"{k};2" for k in range(6))], units={"suction": "bar abs"}
    )
    assert log.readings["suction"] == pytest.approx(2e5)


def test_a_heater_column_goes_before_constant_watts(tmp_path):
    log = read(tmp_path, ["t [s];heater [W]", *(f"{k};2" for k in range(6))], heater=5.0)
    assert log.readings["heater"].tolist() == [2.0] * 6 and note(log, "not used").startswith("heater of [trial]")


@pytest.mark.parametrize(
    "content, complaint",
    [
        (b"", "is empty"),
        (b"\n \n\n", "is empty"),
        (bytes(range(256)) * 10, "is no text"),
        (b"PK\x03\x04" + b"a;b\n" * 9, "save the log as CSV"),
        (b"just some words\nand more\n" * 5, "holds no table"),
        (b"{" + b"x" * 200_000 + b"}", "holds no table"),
        (b"1;2;3\n" * 9, "no header names the 3 columns"),
        (b"t [s];T evap [K]\n0;1\n1;2\n", "a log needs 5 lines of readings at least, this one has 2"),
        (b"t [s];T evap [K]\n" + b"0;150\n" * 9, "all lines have the same time"),
        (
            b"t [s];T evap [K]\n" + b"".join(b"%d;---\n" % k for k in range(9)),
            "no column that is known holds a reading",
        ),
        (b"time;T evap [K]\n" + b"".join(b"%d;150\n" % k for k in range(9)), "give [trial] time_unit"),
        (b"x;T evap [K]\n" + b"".join(b"%d;150\n" % k for k in range(9)), "no column of time is known"),
        (
            b"time;date;elapsed;T evap [K]\n" + b"".join(b"%d;1;1;150\n" % k for k in range(9)),
            "several columns may be the time",
        ),
        (b"time [s];T evap [K]\n" + b"soon;150\n" * 9, "no times can be read"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(tmp_path, content, complaint):
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    with pytest.raises(InputError) as error:
        read_log(path, LogRequest())
    assert complaint in str(error.value) and "\n" not in str(error.value) and "bad.csv" in str(error.value)


def test_no_file_and_a_directory(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_log(tmp_path / "none.csv", LogRequest())
    with pytest.raises(InputError, match="is a directory"):
        read_log(tmp_path, LogRequest())


def test_control_characters_in_a_log_are_told(tmp_path):
    log = read(tmp_path, [HEAD, *PLAIN[:3], "\x00" + PLAIN[3], *PLAIN[4:]])
    assert log.times.size == 8 and note(log, "control character").startswith(
        "1 control characters, first in line 5"
    )
