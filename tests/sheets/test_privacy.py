"""People in the data; every person here is invented."""

from __future__ import annotations

import hashlib
import hmac
import re
from typing import Any

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import solubility_stats as ss
from solubility_stats.errors import InputError
from solubility_stats.quantities import FILL, QUANTITIES
from solubility_stats.sheets import privacy


@pytest.mark.parametrize(
    ("heading", "kind"),
    [
        ("Name", "name"), ("Your name", "name"), ("First name", "name"), ("Partner 2", "name"),
        ("Group members", "name"), ("Names of group members", "name"), ("TA name", "name"),
        ("Nachname", "name"), ("Initials", "name"), ("last_name", "name"),
        ("Email Address", "e-mail"), ("e-mail", "e-mail"), ("Student ID", "student number"),
        ("Student number", "student number"), ("Matrikelnummer", "student number"),
        ("NetID", "student number"), ("Phone", "telephone"),
    ],
)  # fmt: skip
def test_personal_by_heading(heading: str, kind: str) -> None:
    assert privacy.personal_kind(heading) == kind


@pytest.mark.parametrize(
    ("values", "kind"),
    [
        (["ann@example.org", "bo@example.org", ""], "e-mail"),
        (["Ann Example", "Bo B. Sample", "Example, Ann"], "name"),
        (["Ann Example & Bo Sample", "Cy von Testcase"], "name"),
        ([1234567, 2345678], "student number"), (["s1234567", "s2345678"], "student number"),
        (["Red Team", "Blue Team"], ""), (["1", "2"], ""), (["vacuum", "Büchner"], ""),
        ([20260504, 20260505], ""), ([2.51, 2.48], ""), ([], ""), (["Mon-A", "Tue-B"], ""),
    ],
)  # fmt: skip
def test_personal_by_content(values: list[object], kind: str) -> None:
    assert privacy.personal_kind("", values) == kind


def test_no_heading_of_the_vocabulary_is_personal() -> None:
    for quantity in (*QUANTITIES, FILL):
        for heading in quantity.headings:
            assert privacy.personal_kind(heading) == "", heading
            assert privacy.scrub(heading.title()) == heading.title()


@pytest.mark.parametrize(
    "text",
    [
        "Stirred 5 min, 23 C. Used Büchner funnel.", "Dried on hot plate", "fills 100 100 100 100",
        "Spilled About Half", "initial mass was 2.512 g", "reweighed Monday 2026-05-04",
        "20260504 repeat", "With Buchner", "Cloudy Filtrate Clear",
    ],
)  # fmt: skip
def test_lab_talk_stays(text: str) -> None:
    assert privacy.scrub(text) == text


@pytest.mark.parametrize(
    ("text", "gone"),
    [
        ("Ann Example spilled it", ["Ann", "Example"]), ("asked Quill", ["Quill"]),
        ("mail ann.example@example.org", ["example.org"]), ("call +44 1632 960 000", ["1632"]),
        ("ID s1234567", ["1234567"]), ("zed's reading is better", ["zed"]),
        ("Al took it", ["Al"]), ("with Cy Testcase", ["Cy", "Testcase"]),
    ],
)  # fmt: skip
def test_people_go(text: str, gone: list[str]) -> None:
    scrubbed = privacy.scrub(text, {"Zed", "Al"})
    assert not any(word in scrubbed for word in gone), scrubbed


def test_short_names_go_only_as_written() -> None:
    assert privacy.scrub("al dente, Al", {"Al"}) == "al dente, [name]"


@given(st.text(max_size=60), st.frozensets(st.text(min_size=1, max_size=5), max_size=3))
def test_scrubbing_never_raises_and_settles(text: str, names: frozenset[str]) -> None:
    once = privacy.scrub(text, names)
    assert isinstance(once, str)
    assert "@example.org" not in privacy.scrub(text + " x@example.org", names)


@given(st.text(min_size=1, max_size=20), st.binary(min_size=8, max_size=40))
def test_codes_depend_on_group_and_key_only(group: str, key: bytes) -> None:
    code = privacy.pseudonym(group, key)
    assert code == privacy.pseudonym(f" {group} ", key)
    assert code != privacy.pseudonym(group, key + b"!")
    assert code != privacy.pseudonym(group + "x", key)
    assert len(code) == 11


def test_code_is_the_standard_keyed_hash() -> None:
    digest = hmac.new(b"a long secret", b"group:a1", hashlib.sha256).hexdigest()[:10]
    bits = f"{int(digest, 16):040b}"
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"  # base 32 of RFC 4648
    code = "".join(letters[int(bits[i : i + 5], 2)] for i in range(0, 40, 5))
    assert privacy.pseudonym("A1", "a long secret") == f"G-{code[:4]}-{code[4:]}"


def test_a_short_key_is_refused() -> None:
    with pytest.raises(InputError, match="8 bytes or more"):
        privacy.pseudonym("A1", "secret")


def test_no_text_of_the_records_gives_a_pseudonymised_group_away(workbook: Any) -> None:
    cards: list[list[Any]] = []
    for group, solid in (("71", 2.41), ("72", 2.52), ("73", 2.63)):
        cards += [
            [f"BENCH {group}"],
            ["lime in (g)", solid],
            ["water (mL)", 200],
            ["dry solid back (g)", round(solid - 0.35, 2)],
            [],
        ]
    pages = [
        ["We weighed ___2.17___ g of lime and poured ___200___ mL of water."],
        ["Group no. ___74___    Class: ___9B___"],
        ["The dry solid weighed ___1.84___ g."],
    ]
    path = workbook({"cards": cards, "Team 74": pages})
    plain = ss.read_class(path)
    hidden = ss.read_class(path, pseudonym_key="a long secret key")
    assert sorted(plain.runs["group"]) == ["71", "72", "73", "74"]
    shown = [*(hidden.account["text"],), *_texts(hidden.runs), *_texts(hidden.headings)]
    shown += [*_texts(hidden.ledger), *_texts(hidden.flags)]
    assert not [text for text in shown if re.search(r"7[1234]", str(text))]
    assert hidden.runs["group"].nunique() == 4
    columns = ["initial_mass_g", "water_volume_ml", "recovered_mass_g"]
    pd.testing.assert_frame_equal(plain.runs[columns], hidden.runs[columns])


def _texts(frame: pd.DataFrame) -> list[str]:
    return [str(v) for c in frame.columns if frame[c].dtype == "str" for v in frame[c].dropna()]
