"""Tables of readings in their authors' own words: what a head does not say, its cells do (common practice)."""

import pytest

from builds.guides.guide_file.figure_rules import check_rules
from builds.guides.text_import.outline import Outline, Piece
from builds.guides.text_import.pin_charts import readings_of_chart
from builds.guides.text_import.stages import Plan, StagePlan, find_ends, list_rows, make_plan, refs_in
from builds.guides.text_import.tables import is_of_readings, list_checks

PLACES = {"V1.1", "V1.3", "V1.6", "V2.3", "V2.7", "V2.9"}


def read(*rows, is_on=True):
    assert is_of_readings(rows)
    checks = list_checks(rows, PLACES, is_on)
    assert not [check.doubt for check in checks if check.doubt]
    return [{key: value for key, value in check.row.items() if value} for check in checks]


def test_german_heads_and_circa_are_read():
    rows = read(
        ("Meßpunkt", "Soll", "zul. Abw.", "Aus ab"),
        ("V1a Anode (Pin 6)", "ca. 165 V", "±15%", "300 V"),
        ("V2, Pin 7 gegen Masse", "ca. 285 V=", "10 %", "400V"),
        ("V2/9", "+ 275-295 V", "", ""),
    )
    assert [row["red"] for row in rows] == ["V1.6", "V2.7", "V2.9"]
    assert [row.get("stop_above") for row in rows] == ["300 V", "400V", None]
    assert (rows[0]["expected"], rows[1]["expected"], rows[1]["band"]) == ("165 V", "285 V", "10 %")
    assert (rows[2]["low"], rows[2]["high"]) == ("275 V", "295 V")


@pytest.mark.parametrize("head", ["Abschalten bei", "Ausschalten wenn über", "Abschaltgrenze", "Grenzwert", "Not-Aus"])
def test_a_limit_to_switch_off_at_is_no_note_whatever_its_german_name(head):
    (row,) = read(("Messpunkt", "Sollwert", head), ("V2 Pin 7", "285 V ± 10 %", "360 V"))
    assert row["stop_above"] == "360 V" and "note" not in row


def test_a_maximum_beside_a_tolerance_is_where_to_switch_off():
    rows = read(
        ("Messpunkt", "Sollwert", "Toleranz", "max."),
        ("V2 Pin 7", "285 V=", "±10%", "360 V"),
        ("V2 Pin 3", "7,2 V", "± 1 V", "10"),
    )
    assert [(row["stop_above"], row["band"], row.get("high")) for row in rows] == [
        ("360 V", "10%", None),
        ("10 V", "1 V", None),
    ]
    assert not [message for row in rows for message in check_rules(row | {"key": "x"})]


@pytest.mark.parametrize(
    ("head", "key"), [("max.", "at_most"), ("Maximum", "at_most"), ("min.", "at_least"), ("mindestens", "at_least")]
)
def test_one_limit_without_a_tolerance_is_all_a_good_build_has_to_keep(head, key):
    expected = "270 V" if key == "at_most" else "290 V"
    (row,) = read(("Messpunkt", "Sollwert", head), ("V2 Pin 7", expected, "280 V"))
    assert row[key] == "280 V" and not {"low", "high", "stop_above", "stop_below"} & {*row}
    assert not [*check_rules(row | {"key": "x"})]


@pytest.mark.parametrize("written", ["6.3VAC +/-10%", "6.3 VAC ±10%", "6.3V AC + - 10%", "6.3Vac +/− 10 %"])
def test_alternating_volts_with_a_tolerance_typed_on_any_keyboard_are_read(written):
    """A heater read in DC volts shows nothing: common practice."""
    (row,) = read(("Measure at", "Should read"), ("V1 pin 1", written))
    assert row["measure"] == "ac volts" and row["expected"].startswith("6.3")
    assert row["band"].replace(" ", "") == "10%"


def test_two_limits_stay_two():
    (row,) = read(("Messpunkt", "min.", "max."), ("V2 Pin 7", "250", "310 V"))
    assert (row["low"], row["high"]) == ("250 V", "310 V")


def test_two_probes_and_a_name_have_columns_of_their_own():
    (row,) = read(
        ("Wo messen", "rote Spitze", "schwarze Spitze", "Meßwert", "Grenze"),
        ("B+ hinter R1", "V2 pin 9", "Chassis", "320..340 V", ">450 V"),
    )
    assert (row["title"], row["red"], row.get("black")) == ("B+ hinter R1", "V2.9", None)
    assert (row["low"], row["high"], row["stop_above"]) == ("320 V", "340 V", "450 V")


def test_columns_are_known_by_their_cells_and_a_warning_to_stop_is_a_stop_limit():
    rows = read(
        ("Measure", "Between", "And", "You should see", "If more, STOP"),
        ("HT at the reservoir", "V2 pin 7", "chassis", "around 330 V", "450"),
        ("V2 cathode", "V2 pin 3", "chassis", "7.3V (6.5 to 8.2)", "15"),
    )
    assert [(row["title"], row["red"], row["stop_above"]) for row in rows] == [
        ("HT at the reservoir", "V2.7", "450 V"),
        ("V2 cathode", "V2.3", "15 V"),
    ]


def test_a_range_under_acceptable_is_both_limits():
    (row,) = read(("Point", "Typical", "Acceptable"), ("V1 pin 3", "1.4V", "1.1 - 1.7"))
    assert (row["expected"], row["low"], row["high"]) == ("1.4V", "1.1 V", "1.7 V")


def test_a_bare_spread_is_in_the_unit_of_its_figure_never_a_share():
    (row,) = read(("Point", "Expected"), ("V1 pin 3", "1,2 V (±0,3)"))
    assert row["band"] == "0,3 V"
    (check,) = list_checks((("Point", "Expected", "Tol."), ("V1 pin 3", "1.2 V", "0.3")), PLACES, True)
    assert check.doubt and "band" not in check.row


def test_a_current_is_read_over_the_resistor_that_the_row_names():
    (row,) = read(("Point", "Expected"), ("Bias, across R9", "40-55 mA"))
    assert (row["measure"], row["through"], row["low"]) == ("current", "R9", "40 mA")
    stage = StagePlan(
        "On", power="on", checks=list_checks((("Point", "Expected"), ("over R9", "40-55 mA")), PLACES, True)
    )
    find_ends(Plan(stages=[stage]), [{"ref": "R9", "kind": "resistor", "joins": ["chassis", "k2"]}])
    assert stage.checks[0].row["red"] == "k2" and "black" not in stage.checks[0].row


def test_ohms_before_power_are_known_by_their_cells():
    rows = read(
        ("Test", "Meter on", "Reading OK if"),
        ("C1+ to chassis", "200k range", "climbs to more than 150 k"),
        ("Earth pin to chassis", "200 Ω", "< 0.5 Ω"),
        ("V1 pin 7 to chassis", "2M range", "1M ±5%"),
        is_on=False,
    )
    assert {row["measure"] for row in rows} == {"resistance"}
    assert (rows[0]["at_least"], rows[1]["at_most"], rows[2]["band"]) == ("150 k", "0.5 Ω", "5%")


CHART = (("Pin", "V1 (ECC83)", "V2"), ("1", "170 V", "-"), ("3", "1.4 V", "7.5 V"), ("7", "n.c.", "290 V"))


def test_a_chart_of_pins_and_valves_is_a_reading_a_square_either_way_round():
    rows = read(*CHART)
    assert [(row["red"], row["expected"]) for row in rows] == [
        ("V1.1", "170 V"), ("V1.3", "1.4 V"), ("V2.3", "7.5 V"), ("V2.7", "290 V")
    ]  # fmt: skip
    turned = read(*zip(*CHART, strict=True))
    assert sorted(row["title"] for row in turned) == sorted(row["title"] for row in rows)


@pytest.mark.parametrize(
    "rows",
    [
        (("Ref", "Value"), ("R1", "4k7"), ("R2", "1M")),
        (("Tool", "For"), ("Iron", "60 W"), ("Meter", "1000 V")),
        (("Bag", "Parts"), ("1", "R1, R2"), ("2", "V1")),
        (("Pin", "Name"), ("1", "anode"), ("2", "grid")),
        (("What", "Value"), ("Output", "5 W"), ("Supply", "230 V")),
    ],
)
def test_lists_of_parts_and_tools_are_no_readings(rows):
    assert not is_of_readings(rows) and not readings_of_chart(rows)


def test_a_german_table_before_power_is_known_by_what_good_readings_do():
    rows = read(
        ("Prüfung", "Messbereich", "gut, wenn"),
        ("C1 + gegen Masse", "200k", "steigt auf mehr als 150 k"),
        ("Schutzleiter gegen Chassis", "200 Ω", "< 0,5 Ω"),
        is_on=False,
    )
    assert [(row["measure"], row.get("at_least"), row.get("at_most")) for row in rows] == [
        ("resistance", "150 k", None), ("resistance", None, "0,5 Ω")
    ]  # fmt: skip


def test_a_step_names_every_part_of_a_range():
    refs = [f"R{n}" for n in range(1, 13)] + ["C3", "C4"]
    assert refs_in("R2 bis R5 einlöten, dann C3.", refs) == ["R2", "R3", "R4", "R5", "C3"]
    assert refs_in("Solder R10–12.", refs) == ["R10", "R11", "R12"]
    assert refs_in("From R1 wire 3 to C4.", refs) == ["R1", "C4"]


@pytest.mark.parametrize("text", ["V1 und V2 einsetzen.", "V1 in die Fassung stecken.", "Setze V1 ein.", "Fit V1."])
def test_a_step_that_fits_a_valve_says_so_in_german_too(text):
    plan = make_plan(
        Outline([Piece("heading", "Kapitel 4: Inbetriebnahme", level=1), Piece("item", text)]), VALVES, set()
    )
    assert plan.stages[0].title == "Inbetriebnahme"
    (stage,) = list_rows(plan, VALVES)
    assert stage["step"][0]["parts"][0] == "V1" and stage["step"][0]["hands_in"]


VALVES = [{"ref": "V1", "kind": "triode", "base": "B9A"}, {"ref": "V2", "kind": "triode", "base": "B9A"}]


GERMAN = Outline(
    [
        Piece("heading", "Mit Röhren", 2),
        Piece("item", "Ausschalten, Netzstecker ziehen und warten, bis C1 leer ist.", 1),
        Piece("item", "Einschalten und zwei Minuten warten.", 1),
        Piece("table", rows=[["Messpunkt", "Soll"], ["V1 Pin 4 gegen Pin 5", "6,3 V~"], ["V1 Pin 6", "165 V="]]),
    ]
)


def test_the_wave_behind_volts_is_alternating_with_the_power_on_or_off():
    """V~ and V= are the signs of alternating and direct volts (IEC 60417-5032 and -5031)."""
    for is_on in (True, False):
        rows = read(("Messpunkt", "Soll"), ("V1 Pin 4 gegen Pin 5", "6,3 V~"), ("V1 Pin 6", "165 V="), is_on=is_on)
        assert [row["measure"] for row in rows] == ["ac volts", "dc volts"]


@pytest.mark.parametrize("title", ["Mit Röhren", "Letzte Messungen"])
def test_a_stage_is_powered_by_its_title_or_by_a_step_that_switches_on(title):
    pieces = [Piece("heading", "Löten", 2), Piece("item", "R1 einlöten.", 1), *GERMAN.pieces]
    pieces[2] = Piece("heading", title, 2)
    plan = make_plan(Outline(pieces), [], PLACES)
    assert [stage.power for stage in plan.stages] == ["off", "on"]
    assert plan.stages[0].gate and [c.row["measure"] for c in plan.stages[1].checks] == ["ac volts", "dc volts"]


def test_a_stage_that_reads_ohms_first_is_never_powered_by_a_step():
    ohms = [["Messpunkt", "Soll"], ["V1 Pin 6", "100 kΩ"]]
    pieces = [
        Piece("heading", "Messungen", 2),
        Piece("table", rows=ohms),
        Piece("item", "Einschalten.", 1),
        Piece("heading", "Danach", 2),
    ]
    assert make_plan(Outline(pieces), [], PLACES).stages[0].power == "off"


def test_two_pins_of_one_system_keep_its_letter():
    rows = [["Messpunkt", "Soll"], ["Rö1P Pin 4 gegen Pin 5", "6,3 V~"]]
    (check,) = list_checks(rows, {"Rö1P.4", "Rö1P.5"}, True)
    assert (check.row["red"], check.row["black"]) == ("Rö1P.4", "Rö1P.5")
    (twin,) = list_checks([rows[0], ["V1a pins 4 and 5", "6.3 V~"]], {"V1.4", "V1.5"}, True)
    assert (twin.row["red"], twin.row["black"]) == ("V1.4", "V1.5")


@pytest.mark.parametrize("head", ["Measure", "Messpunkt"])
def test_two_ends_of_parts_are_both_probes(head):
    """ "C1+ to C2+" is neither C1 against the chassis nor a function of the meter."""
    first, second = read(
        (head, "Should be", "Tolerance"), ("C1+ to C2+", "1k", "10%"), ("C2+ gegen C3+", "10k", "10%"), is_on=False
    )
    assert (first["red"], first["black"], first["expected"], first["band"]) == ("=C1+", "=C2+", "1k", "10%")
    assert (second["red"], second["black"]) == ("=C2+", "=C3+")


def test_what_is_ok_beside_an_expected_figure_is_its_band():
    first, second = read(
        ("Test point", "Expected", "OK if", "Switch off if over"),
        ("V2 pin 7", "265 V", "240 – 290", "300"),
        ("V2 pin 9", "6.3 V AC", "±8%", "8"),
    )
    assert (first["expected"], first["low"], first["high"], first["stop_above"]) == ("265 V", "240 V", "290 V", "300 V")
    assert second["band"] == "8%"


def test_a_valve_is_written_once_for_all_its_pins():
    rows = read(
        ("Valve", "Pin", "Volts DC", "Tolerance"),
        ("V1 ECC83", "1", "150", "±15%"),
        ("", "3", "1.1 V", "±20%"),
        ("", "6 (anode)", "155", ""),
        ("V2 EL84", "7", "~285", "10%"),
        ("", "9", "290", "10%"),
        ("", "B+ at C1", "300", "10%"),
    )
    assert [row["red"] for row in rows] == ["V1.1", "V1.3", "V1.6", "V2.7", "V2.9", "=B+ at C1"]
    assert rows[1]["title"] == "V1 pin 3"


def test_a_valve_in_the_head_is_that_of_the_pins_below_it():
    rows = read(
        ("V1 (ECC83)", "Soll", "zulässig"), ("Stift 1 (Anode)", "165 V=", "150–180 V"), ("Stift 3", "1,2 V", "10%")
    )
    assert [row["red"] for row in rows] == ["V1.1", "V1.3"]
    assert (rows[0]["low"], rows[0]["high"], rows[1]["band"]) == ("150 V", "180 V", "10%")


@pytest.mark.parametrize(
    ("figure", "measure"),
    [
        ("~285 V", "dc volts"),
        ("~ 285", "dc volts"),
        ("6.3 V~", "ac volts"),
        ("6,3 V ~", "ac volts"),
        ("6.3 VAC", "ac volts"),
    ],
)
def test_a_tilde_before_a_figure_is_about_and_behind_it_alternating(figure, measure):
    (row,) = read(("Point", "Expected"), ("V2 pin 7", figure))
    assert row["measure"] == measure


def test_words_in_brackets_behind_a_figure_are_a_note_and_a_second_limit_is_none():
    (row,) = read(("Point", "Expected"), ("C1 +", "more than 200k (220k after a while)"), is_on=False)
    assert (row["at_least"], row["note"]) == ("200k", "220k after a while")
    (check,) = list_checks((("Point", "Expected"), ("C1 +", "200 V (max 250 V)")), PLACES, True)
    assert check.doubt


def document(*pieces):
    return make_plan(Outline([Piece("heading", title, 1) if kind == "heading" else Piece(kind, title) if kind != "table"
                            else Piece(kind, rows=title) for kind, title in pieces]), [], set())  # fmt: skip


LIVE_TABLE = (("Point", "Volts DC"), ("V2 pin 7", "285"))
DISCHARGED = (("Point", "Volts DC"), ("C1 +", "less than 5 V"))


@pytest.mark.parametrize(
    ("title", "rows", "power"),
    [
        ("Voltages", LIVE_TABLE, "on"),
        ("Before power", LIVE_TABLE, "off"),
        ("Discharged", DISCHARGED, "off"),
    ],
)
def test_volts_that_should_be_there_are_read_with_the_power_on(title, rows, power):
    plan = document(("heading", "Tag board"), ("item", "Fit R1."), ("heading", title), ("table", rows))
    assert plan.stages[1].power == power
    assert plan.stages[0].gate == (power == "on")


def test_a_picture_before_the_first_step_is_that_steps():
    plan = document(("heading", "Tag board"), ("text", "All here."), ("picture", "a.jpg"), ("item", "Fit R1."),
                    ("heading", "Chassis"), ("picture", "b.jpg"), ("item", "Bolt."), ("picture", "c.jpg"))  # fmt: skip
    assert [stage.steps[0]["picture"] for stage in plan.stages] == ["a.jpg", "c.jpg"]
    assert plan.unplaced == ["b.jpg"]


@pytest.mark.parametrize(
    ("words", "out"),
    [
        ("Leave V1 and V2 out. V3 in.", ["V1", "V2"]),
        ("Ohne V1, V2 und V3 einschalten.", ["V1", "V2", "V3"]),
        ("Switch on.", ["V1", "V2", "V3"]),
    ],
)
def test_a_rectifier_may_be_in_where_the_other_valves_are_named_as_out(words, out):
    parts = [{"ref": ref, "kind": "triode", "base": "B9A"} for ref in ("V1", "V2", "V3")]
    pieces = [Piece("heading", "Board", 1), Piece("item", "Fit R1."), Piece("heading", "First power, no valves", 1)]
    plan = make_plan(Outline([*pieces, Piece("item", words)]), parts, set())
    assert list_rows(plan, parts)[1]["not_fitted"] == out


@pytest.mark.parametrize("limits", ["340 … 390 V", "340…390", "340 V ÷ 390 V", "von 340 bis 390 V", "340...390 V"])
@pytest.mark.parametrize("where", ["Grenzen", "Sollwert"])
def test_limits_are_read_however_the_range_is_written(limits, where):
    heads, cells = ("Messpunkt", "Spannung", "Grenzen"), ("V2 Pin 7", "365 V", limits)
    if where == "Sollwert":
        heads, cells = ("Messpunkt", "Sollwert"), ("V2 Pin 7", limits)
    (row,) = read(heads, cells)
    assert (row["low"], row["high"]) == ("340 V", "390 V") and "band" not in row


def test_a_column_to_tick_or_write_into_on_paper_says_nothing():
    heads, cells = ("Messpunkt", "Sollwert", "☐", "Istwert", "Datum"), ("V2 Pin 7", "285 V", "☐", "____", "[ ]")
    (row,) = read(heads, cells)
    assert "note" not in row


ELECTRODES = (
    ("Röhre", "Spannung [V] gegen Masse", "Spannung [V] gegen Masse"),
    ("Röhre", "Anode", "k"),
    ("V1a", "185 ± 10", "1,45"),
    ("V2", "–", "2,1 V"),
)


def test_a_chart_of_electrodes_under_a_title_in_merged_cells_is_a_reading_a_square():
    rows = read(*ELECTRODES)
    assert [(row["title"], row["measure"], row["expected"]) for row in rows] == [
        ("V1a Anode", "dc volts", "185 V"), ("V1a cathode", "dc volts", "1,45 V"), ("V2 cathode", "dc volts", "2,1 V"),
    ]  # fmt: skip
    assert rows[0]["band"] == "10 V"
    plain = read(("Valve", "Anode [V]", "Cathode [V]"), ("V1", "185", "1.45"))
    assert [(row["title"], row["expected"]) for row in plain] == [("V1 Anode", "185 V"), ("V1 Cathode", "1.45 V")]


def test_a_table_of_what_valves_are_is_no_chart_of_electrodes():
    assert not readings_of_chart((("Valve", "Type", "Base"), ("V1", "ECC83", "B9A"), ("V2", "EL84", "B9A")))


def test_a_heater_read_from_two_joined_pins_to_a_third_is_not_read_between_the_two():
    """An ECC83 on 6.3 V has pins 4 and 5 joined (common practice): between them there is nothing to read."""
    (row,) = read(("Point", "Expected"), ("Heater V1 pin 4/5 – 9", "6.3 V AC"))
    assert (row["red"], row["black"]) == ("=V1 pin 4", "=V1 pin 9")
    (row,) = read(("Point", "Expected"), ("Heater V1 pin 4/5", "12.6 V AC"))
    assert (row["red"], row["black"]) == ("=V1 pin 4", "=V1 pin 5")


def test_thousands_or_a_decimal_in_a_figure_is_left_to_the_designer():
    rows = (("Messpunkt", "Sollwert"), ("V1 Pin 6", "1.234 V"), ("V1 Pin 1", "0,234 V"))
    made = list_checks(rows, set(), is_on=True)
    assert "expected" not in made[0].row and "1.234" in made[0].doubt
    assert made[1].row["expected"] == "0,234 V" and not made[1].doubt


def test_the_black_probe_goes_where_the_table_says_and_never_to_the_chassis_instead():
    (row,) = read(("Messpunkt", "Soll"), ("Heizung V1 4+5 gegen 9", "6,3 V~"))
    assert (row["red"], row["black"]) == ("=Heizung V1 4+5", "=V1 pin 9")
    (row,) = read(("Messpunkt", "Soll"), ("C3 + gegen Lötstift 7", "12 V"))
    assert row["black"] == "=Lötstift 7"
    (row,) = read(("Messpunkt", "Soll"), ("C3 + gegen Masse", "12 V"))
    assert "black" not in row


def test_a_column_of_sockets_names_the_valve_of_a_pin():
    rows = read(("Socket", "Pin", "Volts"), ("V1", "1", "190"), ("V1", "3", "1.5"))
    assert [row["red"] for row in rows] == ["V1.1", "V1.3"]


@pytest.mark.parametrize(
    ("point", "reds"),
    [
        ("V1/V2 pin 3", ["V1.3", "V2.3"]),
        ("V1 and V2, pin 3", ["V1.3", "V2.3"]),
        ("Pin 3 of V1 and V2", ["V1.3", "V2.3"]),
        ("V1 pins 1/6", ["V1.1", "V1.6"]),
        ("V1 pin 3 and 6 to chassis", ["V1.3", "V1.6"]),
        ("V1-1, V1-6", ["V1.1", "V1.6"]),
        ("V1 pin 6, 9-pin socket", ["V1.6"]),
        ("V1 pin 6, 5 V range", ["V1.6"]),
    ],
)
def test_a_row_for_several_points_is_a_reading_at_each(point, reds):
    rows = read(("Point", "Expected"), (point, "190 V ± 10 %"))
    assert [row["red"] for row in rows] == reds and not any("black" in row for row in rows)


def test_a_heater_and_what_says_between_are_read_between_two_points():
    rows = read(("Point", "Expected"), ("Heater V1, V2 pin 4/5", "6.3 V AC"), ("V1 pin 6 to V2 pin 7", "40 V"))
    assert [(row["red"], row["black"]) for row in rows] == [
        ("=V1 pin 4", "=V1 pin 5"), ("=V2 pin 4", "=V2 pin 5"), ("V1.6", "V2.7"),
    ]  # fmt: skip
