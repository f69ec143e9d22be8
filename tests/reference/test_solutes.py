"""The solute files: complete, marked, and honest about what they leave out."""

from __future__ import annotations

import numpy as np
import pytest

from solubility_stats.errors import InputError, UnreadableFileError
from solubility_stats.reference import curve, solute_names
from solubility_stats.reference.solutes import find, parse_solute, read_solute

NAMES = solute_names()


@pytest.mark.parametrize("name", NAMES)
def test_every_source_is_cited_and_every_omission_explained(name):
    data = find(name)
    assert data.formula
    for source in data.sources:
        assert source.citation
        assert source.reached
        assert source.quality in "ABC"
        assert source.combine or source.why_not
        assert all(out["reason"] for out in source.struck)
        if source.reached == "memory":
            assert all(source.from_memory)
    assert all(note["topic"] and note["text"] and note["source"] for note in data.notes)


@pytest.mark.parametrize("name", NAMES)
def test_the_curve_passes_the_points_of_its_sources(name):
    found = curve(name)
    points = found.points
    used = points[points["used"] & points["temperature_c"].between(found.low_c, found.high_c)]
    value, u = found.at(used["temperature_c"].to_numpy())
    away = np.abs(used["g_per_100g"].to_numpy() - value) / u
    # No point may lie where the stated uncertainty makes it all but impossible.
    assert np.max(away) < 3.0
    assert np.mean(away < 2.0) > 0.9


@pytest.mark.parametrize("name", NAMES)
def test_struck_values_are_shown_and_enter_nothing(name):
    points = curve(name).points
    struck = points[points["struck"] != ""]
    assert not struck["used"].any()
    assert struck["g_per_100g"].isna().all()
    assert len(struck) == sum(len(s.struck) for s in find(name).sources)


def test_suspect_values_are_struck():
    wanted = {
        "calcium iodate": (70.0, 0.811),
        "sucrose": (65.0, 75.88),
        "potassium hydrogen tartrate": (100.0, 62.0),
        "lead(II) iodide": (20.0, 0.0756),
        "lead(II) chloride": (20.0, 1.08),
        "calcium hydroxide": (90.0, 0.076),
    }
    for name, (t_c, value) in wanted.items():
        points = curve(name).points
        hit = points[(points["temperature_c"] == t_c) & (points["published"] == value)]
        assert (hit["struck"] != "").any(), name
        assert not hit["used"].any(), name


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Ca(OH)2", "calcium hydroxide"),
        ("  Slaked  Lime ", "calcium hydroxide"),
        ("ca(oh)₂", "calcium hydroxide"),
        ("CaSO4·2H2O", "gypsum"),
        ("calcium sulphate dihydrate", "gypsum"),
        ("cream of tartar", "potassium hydrogen tartrate"),
        ("Potassium bitartrate", "potassium hydrogen tartrate"),
        ("lead iodide", "lead(II) iodide"),
        ("borax", "borax"),
        ("sugar", "sucrose"),
    ],
)
def test_names_people_use(said, meant):
    assert curve(said).solute == meant


def test_no_name_stands_for_two_solutes():
    seen: dict[str, str] = {}
    for name in NAMES:
        data = find(name)
        for said in (data.name, data.formula, *data.synonyms):
            assert seen.setdefault(said.casefold(), name) == name


def test_unknown_solutes_get_the_closest_names():
    with pytest.raises(InputError, match="perhaps calcium hydroxide"):
        curve("calcium hydroxyde")
    with pytest.raises(InputError, match="from_csv"):
        curve("zzz")


def test_memory_is_marked():
    sources = curve("calcium hydroxide").sources.set_index("key")
    assert sources.loc["Seidell/Perry", "from_memory"] == "3 of 12"
    assert sources.loc["Lime trade sheets", "from_memory"] == "all"
    assert sources.loc["NBS 1956", "from_memory"] == ""


# --- files of the reader -------------------------------------------------------------------


def minimal(**changes):
    return {
        "name": "x",
        "formula": "NaCl",
        "source": [{"key": "a", "points": [[10, 1.0], [20, 2.0]]}],
        **changes,
    }


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"sources": []}, "not known: sources"),
        ({"range_c": [50, 10]}, "range_c must rise"),
        ({"source": [{"key": "a"}]}, "missing: points"),
        ({"source": [{"key": "a", "points": [[1, 2]], "quality": "Z"}]}, "unknown quality"),
        ({"source": [{"key": "a", "points": [[1]]}]}, "points must be"),
        ({"source": [{"key": "a", "points": [[1, 0.0]]}]}, "positive solubility"),
        ({"source": [{"key": "a", "points": [[1, 2]], "formula": "KCl"}]}, "another substance"),
        ({"source": [{"key": "a", "points": [[1, 2]], "unit": "x"}]}, "unknown solubility unit"),
        ({"source": 2 * [{"key": "a", "points": [[1, 2]]}]}, "occurs twice"),
    ],
)
def test_faults_in_a_file_are_named(changes, message):
    with pytest.raises(InputError, match=message):
        parse_solute(minimal(**changes), where="mine.toml")


def test_faults_of_the_file_itself(tmp_path):
    with pytest.raises(UnreadableFileError, match=r"nothing\.toml"):
        read_solute(tmp_path / "nothing.toml")
    broken = tmp_path / "broken.toml"
    broken.write_text("name = ", encoding="utf-8")
    with pytest.raises(UnreadableFileError, match=r"broken\.toml"):
        read_solute(broken)


def test_hydrate_sources_come_to_the_basis_of_the_curve():
    said = minimal(
        formula="CaSO4.2H2O",
        source=[{"key": "a", "formula": "CaSO4", "unit": "g/100 g", "points": [[25, 0.2054]]}],
    )
    # By hand: q = 172.164/136.134 = 1.26467; 100 q r/(100 − r (q − 1)).
    expected = 100 * 1.264666 * 0.2054 / (100 - 0.2054 * 0.264666)
    assert parse_solute(said, where="x").sources[0].value[0] == pytest.approx(expected, rel=1e-5)
