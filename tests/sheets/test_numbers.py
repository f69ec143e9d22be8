from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.quantities import quantity
from solubility_stats.sheets.numbers import Doubt, Number, decide_decimal, read_literal, tidy


def value(text: str, mark: str | None = None) -> Decimal | None:
    read = read_literal(tidy(text), mark)  # type: ignore[arg-type]
    return read.value if isinstance(read, Number) else None


@pytest.mark.parametrize(
    ("text", "mark", "expected"),
    [
        ("2.51", None, "2.51"), ("2,51", None, "2.51"), (".5", None, "0.5"), (",5", None, "0.5"),
        ("0,250", None, "0.250"), ("0.250", ",", "0.250"), ("2.", None, "2"), ("−2.5", None,
        "-2.5"),
        ("1.234,5", None, "1234.5"), ("1,234.5", None, "1234.5"), ("1,234,567", None, "1234567"),
        ("1.234", ",", "1234"), ("1,234", ".", "1234"), ("1.234", ".", "1.234"),
        ("1,234", ",", "1.234"), ("1 300", None, "1300"), ("1\u202f300,5", None, "1300.5"),
        ("1'300", None, "1300"), ("２．５", None, "2.5"), ("٢٥", None, "25"), ("2500.125", ",",
        "2500.125"),
    ],
)  # fmt: skip
def test_what_can_only_be_one_number(text: str, mark: str | None, expected: str) -> None:
    assert value(text, mark) == Decimal(expected)


@pytest.mark.parametrize(
    "text",
    ["1.234", "1,234", "2..48", "2.,5", "2.O5", "2,5,", "250,", "025", "00.5", "50,50,50", "1.2.3",
     "2 51", "12 34 567", "1'30", "1,23.4", "2_5", "nan", "inf", "1e5", "0x1F", "", "-", ".",
     "2.51¹",
     "10²", "2.5①", "0,123.4", "0 500", "½"],
)  # fmt: skip
def test_what_could_be_two_numbers_or_none_is_doubted(text: str) -> None:
    read = read_literal(tidy(text), None)
    assert isinstance(read, Doubt)
    assert read.reason


@pytest.mark.parametrize(
    ("text", "likely"), [("2..48", "2.48"), ("2.O5", "2.05"), ("l.25", "1.25"), ("025", "0.25")]
)
def test_a_slip_names_the_likely_number(text: str, likely: str) -> None:
    read = read_literal(text, None)
    assert isinstance(read, Doubt)
    assert read.likely == likely


def _readings(text: str) -> set[Decimal]:
    """All numbers a text of digits, points and commas can be, by grammar alone."""
    found = set()
    for point, comma in (".,", ",."):
        p, c = re.escape(point), re.escape(comma)
        grammar = rf"(?:[1-9]\d{{0,2}}(?:{c}\d{{3}})+|\d+)(?:{p}\d*)?|{p}\d+"
        if re.fullmatch(grammar, text):
            found.add(Decimal(text.replace(comma, "").replace(point, ".")))
    return found


@given(st.text("0123456789.,", min_size=1, max_size=10))
def test_a_number_is_given_only_where_the_grammar_allows_no_other(text: str) -> None:
    read = read_literal(text, None)
    if isinstance(read, Number):
        assert _readings(text) == {read.value}


@given(st.text("0123456789.,", min_size=1, max_size=10), st.sampled_from(".,"))
def test_with_the_mark_known_the_number_is_one_the_grammar_allows(text: str, mark: str) -> None:
    read = read_literal(text, mark)  # type: ignore[arg-type]
    if isinstance(read, Number):
        assert read.value in _readings(text)


@given(st.text(max_size=30))
def test_tidying_never_makes_a_figure_out_of_nothing(text: str) -> None:
    def figures(t: str) -> int:
        return sum(c.isdecimal() for c in t)

    tidied = tidy(text)
    if not re.search("[⁰¹²³⁴-⁹₀-₉½⅓⅔¼¾⅕-⅞⅐-⅒⅟↉]", text):
        assert figures(tidied) == figures(text)
    assert tidy(tidied) == tidied or not tidied.isascii()


@pytest.mark.parametrize(
    ("texts", "mark"),
    [
        (["2,51", "2,5"], ","), (["2.51", "250"], "."), (["1.234,5"], ","), (["1,234.5"], "."),
        (["1,234,567"], "."), (["0,125"], ","), (["2,51", "2.48"], None), (["1,234"], None),
        (["250", "300"], None), ([], None), (["50,50", "50,50,50"], None), (["1,234", "2,5 g"],
        ","),
        (["~2,5", "n/a"], ","),
    ],
)  # fmt: skip
def test_the_mark_of_a_column_needs_proof(texts: list[str], mark: str | None) -> None:
    found, reason = decide_decimal(texts)
    assert found == mark
    assert reason


def test_limits_prove_the_mark_of_a_column_of_three_decimals() -> None:
    mass = quantity("initial_mass_g")
    assert decide_decimal(["2,501", "1,832", "2,013"], quantity=mass)[0] == ","
    assert decide_decimal(["2,501"], quantity=mass)[0] is None  # one cell is a guess
    volume = quantity("water_volume_ml")
    assert decide_decimal(["1,300", "1,250", "1,200"], quantity=volume)[0] is None


def test_the_rest_of_the_table_speaks_for_a_silent_column() -> None:
    assert decide_decimal(["1,234"], elsewhere=",")[0] == ","
    assert decide_decimal(["1.25"], elsewhere=",")[0] == "."  # its own proof goes first


def test_thousands_below_milligrams_are_told_by_the_limits() -> None:
    """As decimals all would be a thousandth of what anybody weighs in."""
    mass = quantity("initial_mass_g")
    texts = ["2,596", "2,312", "2,741"]
    assert decide_decimal(texts, quantity=mass, unit="mg")[0] == "."
    assert decide_decimal(texts, quantity=mass, unit="g")[0] == ","
    assert decide_decimal(texts[:2], quantity=mass, unit="mg")[0] is None
    assert decide_decimal(["1,234", "1,250", "1,300"], quantity=quantity("aliquot_ml"))[0] == ","


def test_a_slip_tells_nothing_of_the_mark_of_others() -> None:
    assert decide_decimal(["2,094", "1,,84", "2,17"])[0] == ","
    assert decide_decimal(["50,50,50", "2,17"])[0] is None


def test_cells_in_doubt_or_with_a_unit_of_their_own_decide_nothing() -> None:
    """One of them is unlike the rest; it must not turn the mark of the column."""
    paper, mass = quantity("recovered_with_paper_mass_g"), quantity("initial_mass_g")
    assert decide_decimal(["3.152 g", "2,9 or 3,1 g?"], quantity=paper, elsewhere=".")[0] == "."
    assert decide_decimal(["2,371", "2,3,1", "2,743"], quantity=mass, elsewhere=",")[0] == ","
    assert decide_decimal(["1,788", "2,418", "1,8O2", "2,142"], quantity=mass, unit="mg")[0] == "."
    grams = ["2,596", "2,540", "2,763", "2.493 g"]
    assert decide_decimal(grams, quantity=mass, unit="mg")[0] == "."
    water = quantity("water_volume_ml")
    assert decide_decimal(["50,50,50", "50,5"], quantity=water)[0] is None
