"""One cell at a time: what must be read, what must be doubted, and nothing wrong in silence."""

from __future__ import annotations

import string
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solubility_stats.quantities import FILL, QUANTITIES, quantity
from solubility_stats.sheets.cell_columns import parse_numeric_column
from solubility_stats.sheets.cells import parse_cell, scale_breaks
from solubility_stats.sheets.model import CellContext, ParsedCell, RawCell

MASS, VOLUME, TEMPERATURE = "recovered_mass_g", "water_volume_ml", "temperature_c"
UNITS = {MASS: "g", VOLUME: "mL", TEMPERATURE: "°C", "stir_min": "min"}


def read(value: object, column: str = MASS, *, unit: str | None = "", **more: Any) -> ParsedCell:
    context = {k: more.pop(k) for k in ("decimal", "date_order", "unit_settled") if k in more}
    heading = UNITS.get(column) if unit == "" else unit
    cell = RawCell(3, 2, value, "" if value is None else str(value), **more)
    return parse_cell(cell, quantity(column), CellContext(column, heading, **context))


CERTAIN = [
    ("2.51", MASS, 2.51), ("2,51", MASS, 2.51), ("2.510", MASS, 2.51), ("2.51g", MASS, 2.51),
    ("2.51 grams", MASS, 2.51), ("2.51 gr.", MASS, 2.51), ("2510 mg", MASS, 2.51),
    ("0.00251 kg", MASS, 2.51), ("\u00a02.51\u202fg\u200b", MASS, 2.51), ("２．５１", MASS, 2.51),
    ("~2.5", MASS, 2.5), ("ca. 2,5 g", MASS, 2.5), ("about 2.5", MASS, 2.5), ("2.5ish", MASS, 2.5),
    ("≈ 2.5 g (approx)", MASS, 2.5), ("2.5 ± 0.01 g", MASS, 2.5), ("2.5 g +/- 0.01 g", MASS, 2.5),
    ("2.4–2.6 g", MASS, 2.5), ("2.4 to 2.6", MASS, 2.5), ("2½", MASS, 2.5), ("2 1/2 g", MASS, 2.5),
    ("½", MASS, 0.5), ("1/2 g", MASS, 0.5), ("2.51*", MASS, 2.51), ("2.51 †", MASS, 2.51),
    ("m = 2.51 g", MASS, 2.51), ("2.51 g of Ca(OH)₂", MASS, 2.51), ("'2.51", MASS, 2.51),
    ('="2.51"', MASS, 2.51), ("2.5e-1", MASS, 0.25), ("2.5×10⁻¹ g", MASS, 0.25),
    ("1.2+1.3", "initial_mass_g", 2.5), ("2.51 (reweighed)", MASS, 2.51),
    ("300mL", VOLUME, 300.0), ("300 cm³", VOLUME, 300.0), ("300 cc", VOLUME, 300.0),
    ("0.3 L", VOLUME, 300.0), ("0,3 L", VOLUME, 300.0), ("1 300", VOLUME, 1300.0),
    ("1'300", VOLUME, 1300.0), ("1.300,5", VOLUME, 1300.5), ("100+100+50", VOLUME, 250.0),
    ("100 mL + 100 mL + 50 mL", VOLUME, 250.0), ("3x100", VOLUME, 300.0),
    ("3 × 100 mL", VOLUME, 300.0),
    ("250 mL DI water", VOLUME, 250.0), ("0.25l", VOLUME, 250.0),
    ("23°C", TEMPERATURE, 23.0), ("23ºC", TEMPERATURE, 23.0), ("23⁰C", TEMPERATURE, 23.0),
    ("23 deg", TEMPERATURE, 23.0), ("68 °F", TEMPERATURE, 20.0), ("68F", TEMPERATURE, 20.0),
    ("293.15 K", TEMPERATURE, 20.0), ("22-23", TEMPERATURE, 22.5), ("−2", TEMPERATURE, -2.0),
    ("5 min", "stir_min", 5.0), ("1 h 30 min", "stir_min", 90.0), ("1h30", "stir_min", 90.0),
    ("90 s", "stir_min", 1.5), ("2 h", "stir_min", 120.0), ("0.1 M", "titrant_mol_per_l", 0.1),
    ("100 mM", "titrant_mol_per_l", 0.1), (2.51, MASS, 2.51), (300, VOLUME, 300.0),
]  # fmt: skip


@pytest.mark.parametrize(("value", "column", "expected"), CERTAIN)
def test_read_with_certainty(value: object, column: str, expected: float) -> None:
    parsed = read(value, column)
    assert parsed.outcome in ("used", "converted")
    assert parsed.value == pytest.approx(expected, rel=1e-10)
    assert parsed.unit == quantity(column).unit


DOUBTFUL = [
    ("2,510", MASS), ("1,234", VOLUME), ("1.300", VOLUME), ("2..48", MASS), ("2.,5", MASS),
    ("2.O5", MASS), ("2.5l", MASS), ("l.25", MASS), ("25l", VOLUME), ("2l", "fill_1_ml"),
    ("2.51¹", MASS), ("10²", MASS), ("3/4", MASS), ("5/2", MASS), ("2.50/2.48", MASS),
    ("2-5", MASS),
    ("2.51-0.01", MASS), ("02-May", MASS), ("3-Apr", MASS), ("Feb 50", MASS), ("2. Mai", MASS),
    ("2026-05-02", MASS), ("2/5/2026", MASS), ("<0.01", MASS), (">2", MASS), ("≥ 2.5 g", MASS),
    ("less than 0.1 g", MASS), ("spilled", MASS), ("?", MASS), ("2.51?", MASS), ("x", MASS),
    ("see instructor", MASS), ("=2.5", MASS), ("=B2-C2", MASS), ("2_5", MASS), ("inf", MASS),
    ("1e5", MASS), ("0x1F", MASS), ("(2.51)", MASS), ("2.50(1)", MASS), ("25%", MASS),
    ("025", MASS),
    ("2 .51", MASS), ("2. 51", MASS), ("2 51", MASS), ("2.51 g (wet)", MASS),
    ("2.51 with paper", MASS),
    ("2.51 ml", MASS), ("2.51 furlongs", MASS), ("2.51 2.48", MASS), ("50, 50, 50", VOLUME),
    ("50 50 50", VOLUME), ("50;50", VOLUME), ("50,50", "fill_1_ml"), ("50 each", "fill_1_ml"),
    ("300 g", VOLUME), ("5:00", "stir_min"), ("overnight", "stir_min"), ("2-5", "stir_min"),
    (True, MASS), (datetime(2026, 5, 2), MASS), (date(1950, 2, 1), MASS), (time(1, 30), "stir_min"),
    (timedelta(minutes=5), "stir_min"), (float("nan"), MASS), (float("inf"), MASS),
    ("0.85+1.71", MASS), ("2x12.3", "titrant_ml"), ("20.5-22.1", "titrant_ml"), ("m2 = 1.7", MASS),
    ("1.7 ± 5%", "reported_solubility"), ("1.7 g/L, 1.8 g/L", "reported_solubility"),
    ("2.05 mg", "initial_mass_g"), ("200-250", VOLUME),
    (0, "initial_mass_g"), (999, VOLUME), (99, TEMPERATURE), (10**400, MASS), ("9" * 400, MASS),
]  # fmt: skip


@pytest.mark.parametrize(("value", "column"), DOUBTFUL)
def test_doubted_with_a_reason(value: object, column: str) -> None:
    parsed = read(value, column)
    assert parsed.value is None
    assert parsed.outcome in ("unclear", "rejected")
    assert len(parsed.note) > 5
    assert parsed.flags


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("2..48", "2.48"), ("2.O5", "2.05"), ("2.5l", "2.51"), ("02-May", "'2.5' or '5.2'"),
        (datetime(2026, 5, 2), "'2.5' or '5.2'"), (datetime(1950, 2, 1), "'2.50'"), ("2.51?",
        "2.51"),
        ("Feb 50", "'2.50'"), (2510, "mg"), ("2,510", "2510"),
    ],
)  # fmt: skip
def test_the_likely_reading_is_named_and_not_used(value: object, said: str) -> None:
    parsed = read(value)
    assert parsed.value is None
    assert said in parsed.note


@pytest.mark.parametrize("text", ["", "  ", "n/a", "N.A.", "-", "–", "NaN", "not recorded", "k.A."])
def test_a_missing_mark_is_no_doubt(text: str) -> None:
    parsed = read(text)
    assert (parsed.value, parsed.outcome, parsed.flags) == (None, "ignored", ())


def test_decimal_mark_of_the_column_settles_three_decimals() -> None:
    assert read("2,510", decimal=",").value == 2.51
    assert read("1.300", VOLUME, decimal=",").value == 1300.0
    assert read("1,300", VOLUME, decimal=".").value == 1300.0
    assert read("1.300", VOLUME, decimal=".").outcome != "used" or read(
        "1.300", VOLUME, decimal="."
    ).flags == ("implausible",)
    assert read("50,50", "fill_1_ml", decimal=",", unit="mL").value == 50.5


def test_units_of_cell_heading_and_none() -> None:
    assert read(2510, unit="mg").value == 2.51
    cell_first = read("2.51 g", unit="mg")
    assert cell_first.value == 2.51
    assert "mg" in cell_first.note
    assert read(2.51, unit=None).value == 2.51
    assert read(251.0, unit=None).outcome == "unclear"
    assert read(0.25, VOLUME, unit=None).outcome == "unclear"
    litres = read(0.25, VOLUME, unit="mL")
    assert (litres.outcome, "0.25 L" in litres.note) == ("unclear", True)
    assert read(0.25, VOLUME, unit="mL", unit_settled=True).value == 0.25
    assert read(72, TEMPERATURE, unit=None).outcome == "unclear"
    assert read(251.0, unit="g").flags == ("implausible",)
    assert read(251.0, unit="g", unit_settled=True).flags == ()
    assert read(2.51, unit="cubits").outcome == "unclear"
    assert read(2.51, unit="mL").outcome == "unclear"


@pytest.mark.parametrize("value", [2510, "2510 g", -1.0, "−2.5", 1e300])
def test_impossible_values_are_rejected(value: object) -> None:
    parsed = read(value)
    assert (parsed.value, parsed.outcome) == (None, "rejected")
    assert "implausible" in parsed.flags
    assert "0 to 500 g" in parsed.note


@pytest.mark.parametrize(
    ("value", "more", "decimals"),
    [
        ("2.50", {}, 2), ("2,500 g", {"decimal": ","}, 3), ("2510 mg", {}, 3), ("2", {}, 0),
        (2.5, {}, None),
        (2.5, {"number_format": "0.00"}, 2), (2.51, {"number_format": "0"}, 2),
        (2.5, {"number_format": "#,##0.000"}, 3), (2.5, {"number_format": "0.0##"}, 1),
        (0.48999999999, {"number_format": "0.00", "formula": "=B2-C2"}, 2),
        (0.0251, {"number_format": "0.00E+00"}, 4), (2510, {"number_format": '0.0" mg"'}, 4),
         ("2.5 ± 0.01", {}, 1), ("1/2 g", {}, None),
        (2.5, {"number_format": "@"}, None),
        (2.5, {"number_format": '0.00;[Red]-0.00;"none"'}, 2),
        (2.5, {"number_format": '"; 0.000"0.0'}, 1),
    ],
)  # fmt: skip
def test_recorded_decimals(value: object, more: dict[str, Any], decimals: int | None) -> None:
    parsed = read(value, **more)
    assert parsed.value is not None
    assert parsed.decimals == decimals


@pytest.mark.parametrize(
    "fmt", ["0%", "0.00%", "yyyy-mm-dd", "h:mm", "0.0,", "d. mmm", "0.00,,", '0.0" pinches"']
)
def test_formats_that_show_another_number_stop_the_value(fmt: str) -> None:
    assert read(0.25, number_format=fmt).outcome == "unclear"


def test_uncertainty_is_a_half_width_in_the_unit_of_the_quantity() -> None:
    assert read("2500 ± 10 mg").uncertainty == pytest.approx(0.01)
    assert read("68 ± 1.8 °F", TEMPERATURE).uncertainty == pytest.approx(1.0)
    spread = read("240–260 mL", VOLUME)
    assert (spread.value, spread.uncertainty, spread.flags) == (250.0, 10.0, ("approximate",))


def test_zero_is_not_a_blank() -> None:
    for nothing in (0, 0.0, "0", "0.00 g"):
        parsed = read(nothing)
        assert (parsed.value, parsed.flags) == (0.0, ("implausible",))
    assert read(0, "fill_3_ml", unit="mL").flags == ()
    assert read(0, "paper_mass_g", unit="g").flags == ()


def test_what_the_look_of_a_cell_says() -> None:
    assert read(2.51, hidden=True) == ParsedCell(2.51, "used", "g", flags=("hidden",))
    struck = read(2.51, struck=True)
    assert (struck.value, struck.outcome) == (None, "unclear")
    assert "struck" in struck.flags
    assert read(2.01, comment="actually 2.10").value is None
    assert read(2.01, comment="stirred for 5 min").value == 2.01
    assert read("#DIV/0!", is_error=True, formula="=A1/0").outcome == "unclear"
    assert "=A1/0" in read("#DIV/0!", is_error=True, formula="=A1/0").note
    assert "=B2-C2" in read(None, formula="=B2-C2").note
    assert read(0.49, formula="=B2-C2").value == 0.49


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("vac", "vacuum"), ("Büchner", "vacuum"), ("BUCHNER", "vacuum"), ("Vacuum (Büchner)",
        "vacuum"),
        ("v", "vacuum"), ("vaccum", "vacuum"), ("suction filtration", "vacuum"), ("G", "gravity"),
        ("grav.", "gravity"), ("gravity, fluted paper", "gravity"), ("gravtiy", "gravity"),
        ("vacuum or gravity", None), ("both", None), ("not vacuum", None), ("?", None),
        ("paper", None),
        ("x", None), ("gravity then vacuum", None), ("vacuum?", None), ("mostly gravity", None),
        (True, None), (1, None),
    ],
)  # fmt: skip
def test_choices(text: object, word: str | None) -> None:
    parsed = read(text, "filtration")
    assert parsed.value == word
    assert parsed.outcome == ("unclear" if word is None else "used")


@pytest.mark.parametrize(
    ("value", "word"),
    [("no", "clear"), ("no scatter", "clear"), ("not visible", "clear"), (False, "clear"), (0,
    "clear"),
     ("yes", "visible"), (True, "visible"), (1.0, "visible"), ("slightly cloudy", "visible"),
     ("not clear", None), ("yes, clear", None), ("no idea", None)],
)  # fmt: skip
def test_scatter_knows_negation(value: object, word: str | None) -> None:
    assert read(value, "scatter").value == word


@pytest.mark.parametrize(
    ("value", "answer"),
    [("yes", True), ("Y", True), ("✓", True), (1, True), (True, True), ("nein", False),
    ("✗", False),
     (0.0, False), ("x", None), ("maybe", None), (2, None),
     ("no, ran out of time", False), ("yes - third weighing", True), ("yes, but only once", None),
     ("no, yes in the end", None), ("yes, almost", None), ("yes, not checked", None),
     ("no?, ask them", None)],
)  # fmt: skip
def test_yes_and_no(value: object, answer: bool | None) -> None:
    assert read(value, "constant_mass").value is answer


@pytest.mark.parametrize(
    ("value", "more", "code"),
    [("007", {}, "007"), (7.0, {}, "7"), (7, {"number_format": "000"}, "007"), ("1E2", {}, "1E2"),
     ("NA", {}, "NA"), ("None", {}, "None"), (" A 1\u00a0", {}, "A 1"), ("A1*", {}, "A1"),
     ("Ａ１", {}, "A1"), (datetime(2026, 4, 3), {}, None), ("—", {}, None)],
)  # fmt: skip
def test_codes_stay_text(value: object, more: dict[str, Any], code: str | None) -> None:
    assert read(value, "group", **more).value == code


@pytest.mark.parametrize(
    ("value", "order", "moment"),
    [
        ("2026-05-02 14:03:11", None, datetime(2026, 5, 2, 14, 3, 11)),
        ("2026/05/02 2:03:11 PM GMT+2", None, datetime(2026, 5, 2, 14, 3, 11)),
        ("5/2/2026 14:03", "mdy", datetime(2026, 5, 2, 14, 3)),
        ("5/2/2026", "dmy", datetime(2026, 2, 5)),
        ("5/2/2026", None, None),
        ("13/2/2026", None, datetime(2026, 2, 13)),
        ("2.5.2026", None, datetime(2026, 5, 2)),
        ("31.2.2026", None, None),
        ("2 May 2026 12:00 am", None, datetime(2026, 5, 2)),
        (46144.5, None, datetime(2026, 5, 2, 12)),  # day 46144 counts 2 May 2026 (1900 system)
        ("soon", None, None),
    ],
)
def test_moments(value: object, order: str | None, moment: datetime | None) -> None:
    parsed = read(value, "submitted", date_order=order)
    assert parsed.value == moment
    assert parsed.outcome == ("unclear" if moment is None else "used")


def test_the_reported_solubility_keeps_its_unit_as_written() -> None:
    for text, value, unit in (
        ("1.7 g/L", 1.7, "g/L"), ("0,17 g/100 mL", 0.17, "g/100 mL"), ("0.17%", 0.17, "%"),
        ("0.023 M", 0.023, "M"), ("1.6", 1.6, ""), ("0.17 g per 100 g water", 0.17,
        "g per 100 g water"),
    ):  # fmt: skip
        parsed = read(text, "reported_solubility")
        assert (parsed.value, parsed.unit) == (value, unit), text
    assert read(0.0017, "reported_solubility", number_format="0.00%").unit == "%"
    assert read("1.234", "reported_solubility").outcome == "unclear"
    assert read(46144, "reported_solubility").outcome == "unclear"


# Fuzzing ---------------------------------------------------------------------------------------

ALL = [*QUANTITIES, FILL]
SCRIBBLE = string.digits * 4 + ".,.,-–−+±~<>/x×* '’%()=:gmLlCFKOo°µ½²₂⁻¹\u00a0\u202f\u200bе٣५"


@settings(max_examples=2000)
@given(
    st.one_of(
        st.text(max_size=30),
        st.text(SCRIBBLE, max_size=14),
        st.floats(),
        st.integers(),
        st.booleans(),
        st.none(),
        st.dates(),
        st.datetimes(),
        st.times(),
        st.timedeltas(),
    ),
    st.sampled_from(ALL),
    st.sampled_from([None, ".", ","]),
    st.sampled_from([None, "g", "mg", "mL", "L", "°C", "°F", "min", "mol/L", "?", "m"]),
    st.sampled_from(
        ["General", "0.00", "0%", "@", "yyyy", '0.0"mg"', "0.0,", "[Red]0;;", "\\", '"']
    ),
)
def test_no_content_ever_raises(value: Any, q: Any, mark: Any, unit: Any, fmt: str) -> None:
    cell = RawCell(1, 1, value, str(value), number_format=fmt)
    parsed = parse_cell(cell, q, CellContext(q.name, unit, mark))
    assert (parsed.value is None) == (parsed.outcome not in ("used", "converted"))
    if parsed.value is None:
        assert parsed.note
    elif q.kind == "number":
        assert isinstance(parsed.value, float)
        assert q.low <= parsed.value <= q.high


@st.composite
def written_numbers(draw: st.DrawFn) -> tuple[str, float, float, str | None]:
    """A number as people write it, with the truth in grams, its half-width and the mark known."""
    decimals = draw(st.integers(0, 4))
    grams = Decimal(draw(st.integers(1, 990 * 10**decimals))).scaleb(-decimals) / 10
    unit, size = draw(
        st.sampled_from(
            [("", 1), ("g", 1), ("gr", 1), ("grams", 1), ("mg", 1000), ("kg", Decimal("0.001"))]
        )
    )
    number = grams * size
    mark = draw(st.sampled_from(".,"))
    plain = f"{number:f}"
    whole, _, part = plain.partition(".")
    separators = [""] if len(whole) < 4 else ["", "\u202f", "'", {".": ",", ",": "."}[mark]]
    separator = draw(st.sampled_from(separators))
    text = f"{int(whole):,}".replace(",", separator) + (mark + part if part else "")
    if draw(st.booleans()):
        text = text.translate(str.maketrans("0123456789", "０１２３４５６７８９"))
    before = draw(st.sampled_from(["", "~", "ca. ", " ", "\u00a0", "m = "]))
    gap = draw(st.sampled_from(["", " ", "\u00a0", "\u202f", "  "]))
    after = draw(st.sampled_from(["", " ", "*", " †", "\u200b"]))
    known = mark if draw(st.booleans()) else None
    return f"{before}{text}{gap}{unit}{after}", float(grams), 0.0, known


@settings(max_examples=800)
@given(written_numbers())
def test_a_written_number_is_read_right_or_not_at_all(case: Any) -> None:
    text, grams, _, mark = case
    parsed = read(text, MASS, unit="g", decimal=mark)
    if parsed.value is None:
        assert parsed.note
    else:
        assert parsed.value == pytest.approx(grams, rel=1e-9)
    if mark is not None and grams not in (99.0, 99.99) and grams >= 0.02:
        assert parsed.value is not None, parsed.note


@settings(max_examples=400)
@given(st.decimals(0, 499, places=2), st.data())
def test_a_slip_that_leaves_a_trace_is_never_read(number: Decimal, data: st.DataObject) -> None:
    text = f"{number}"
    point = text.index(".")
    slip = data.draw(
        st.sampled_from(
            [
                text.replace(".", ".."),
                text.replace(".", ".,"),
                text.replace(".", ". "),
                text.replace(".", " ."),
                text[:point] + ".O" + text[point + 2 :],
                text[:-1] + "l",
                text + "?",
                "l" + text[1:] if len(text) > 4 else "l" + text,
                text + "/" + text,
                text + "¹",
                "<" + text,
                text + ", " + text,
                text + "," + text,
                text + "." + text[-1],
                text.replace(".", "_"),
            ]
        )
    )
    assert read(slip, MASS, decimal=data.draw(st.sampled_from([None, ".", ","]))).value is None


@given(
    st.lists(
        st.one_of(st.floats(-10, 3000), st.sampled_from([0.0, 99.0, 999.0, 46144.0])), max_size=30
    ),
    st.sampled_from([q for q in ALL if q.kind == "number"]),
    st.sampled_from([None, "g", "mg", "mL", "L", "degC", "degF", "K", "min", "h", "mol/L", "what"]),
    st.booleans(),
)
def test_the_column_reader_agrees_with_the_cell_reader(
    values: list[float], q: Any, unit: str | None, settled: bool
) -> None:
    context = CellContext(q.name, unit, unit_settled=settled)
    column = parse_numeric_column(np.array(values), q, context)
    for position, value in enumerate(values):
        cell = parse_cell(RawCell(1, 1, value, f"{value:g}"), q, context)
        assert column.outcomes[position] == cell.outcome
        assert column.flags.get(position, ()) == cell.flags
        if cell.value is None:
            assert np.isnan(column.values[position])
            assert column.notes[position] == cell.note
        else:
            assert column.values[position] == pytest.approx(cell.value, rel=1e-10, abs=1e-10)


def test_a_column_without_unit_of_its_own_takes_no_conversion() -> None:
    solubility = quantity("reported_solubility")
    column = parse_numeric_column(np.array([1.7]), solubility, CellContext(solubility.name, "g"))
    assert column.values.tolist() == [1.7]


def test_a_figure_that_fits_the_other_unit_is_doubted_in_a_column_too() -> None:
    mass = quantity("initial_mass_g")
    column = parse_numeric_column(np.array([2.05, 2050.0]), mass, CellContext(mass.name, "mg"))
    assert column.outcomes.tolist() == ["unclear", "converted"]


def test_a_lone_value_in_another_unit_stands_out() -> None:
    volumes = np.array([250.0, 248.0, 0.25, 252.0, np.nan, 250.0])
    assert scale_breaks(volumes, quantity(VOLUME)).tolist() == [False] * 2 + [True] + [False] * 3
    warm = np.array([22.0, 21.5, 72.0, 22.5, 295.0])
    assert scale_breaks(warm, quantity(TEMPERATURE)).tolist() == [False, False, True, False, True]
    slips = np.array([2.5, 2.4, 25.0, 2.6, 2.5])
    assert not scale_breaks(slips, quantity(MASS)).any()  # an honest slip is not the reader's
    assert not scale_breaks(np.array([1.0, 1000.0, 1.0]), quantity(MASS)).any()


def test_half_an_hour_below_hours_is_no_date() -> None:
    half = RawCell(1, 1, "1/2", "1/2")
    hours = parse_cell(half, quantity("dry_min"), CellContext("dry_min", "h"))
    assert hours.value == 30
    minutes = parse_cell(half, quantity("dry_min"), CellContext("dry_min", "min"))
    assert minutes.value is None
    mass = parse_cell(half, quantity("initial_mass_g"), CellContext("initial_mass_g", "g"))
    assert mass.value is None


@pytest.mark.parametrize(
    ("text", "column", "mark", "value"),
    [("2,118", "initial_mass_g", ".", 2.118), ("2.118", "initial_mass_g", ",", 2.118),
     ("1,250", "water_volume_ml", ".", 1250.0), ("2,118", "initial_mass_g", ",", 2.118),
     ("25,118", "initial_mass_g", ".", None)],
)  # fmt: skip
def test_thousands_that_cannot_be(text: str, column: str, mark: str, value: float | None) -> None:
    """2118 g is impossible, and 2118 mg would be the same mass; 1250 mL stays what it says."""
    context = CellContext(column, decimal=mark)
    assert parse_cell(RawCell(1, 1, text, text), quantity(column), context).value == value


@pytest.mark.parametrize("heading", ["B/G", "G or B", "B / G"])
def test_b_below_b_or_g_is_buchner(heading: str) -> None:
    context = CellContext("filtration", heading=heading)
    read = [parse_cell(RawCell(1, 1, t, t), quantity("filtration"), context).value for t in "BG"]
    assert read == ["vacuum", "gravity"]
    bare = CellContext("filtration", heading="Filter")
    assert parse_cell(RawCell(1, 1, "B", "B"), quantity("filtration"), bare).value is None
