"""Protocols: defaults with a basis for each figure, files, overrides, and what is refused."""

import pickle
import tomllib
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.errors import InputError
from solubility_stats.measurement.instruments import Balance, Solid
from solubility_stats.measurement.settings import RunSettings
from solubility_stats.reference.molar_mass import molar_mass
from solubility_stats.reference.solutes import solute_names

SOLIDS = (
    "calcium hydroxide", "barium hydroxide octahydrate", "potassium nitrate", "sodium chloride",
    "potassium chloride", "sucrose", "potassium hydrogen tartrate", "benzoic acid", "borax",
    "never heard of it", "",
)  # fmt: skip


@pytest.mark.parametrize("solid", SOLIDS)
def test_every_setting_has_a_basis(solid):
    settings = ss.Protocol.default(solid).settings()
    assert (settings["basis"].str.len() > 5).all()
    assert (settings["origin"] == "default").all()
    assert not settings["setting"].duplicated().any()


def test_every_solid_with_reference_data_has_its_formula():
    for name in solute_names():
        solid = ss.Protocol.default(name).solid
        assert solid.name == name
        assert molar_mass(solid.formula).value > 0


def test_solids_with_something_to_say_are_solids_with_reference_data():
    text = (files("solubility_stats.measurement") / "data" / "solids.toml").read_text("utf-8")
    assert set(tomllib.loads(text)) <= set(solute_names())


@pytest.mark.parametrize("name", ["Ca(OH)2", "slaked lime", "Calcium  Hydroxide", "LIME"])
def test_synonyms(name):
    assert ss.Protocol.default(name).solid.name == "calcium hydroxide"


def test_gains_follow_from_molar_masses():
    def m(formula):
        return molar_mass(formula).value

    lime = ss.Protocol.default("lime").solid
    assert lime.carbonation_gain == pytest.approx(m("CaCO3") / m("Ca(OH)2") - 1, abs=5e-5)
    assert lime.oxide_gain == pytest.approx(m("Ca(OH)2") / m("CaO") - 1, abs=6e-5)
    gain = (m("CaCO3") - m("Ca(OH)2")) / 1000
    assert lime.slurry_gain_g_per_mmol == pytest.approx(gain, abs=5e-6)
    baryta = ss.Protocol.default("Ba(OH)2").solid
    octahydrate = m("Ba(OH)2.8H2O")
    assert baryta.carbonation_gain == pytest.approx(m("BaCO3") / octahydrate - 1, abs=1e-3)
    gain = (m("BaCO3") - octahydrate) / 1000
    assert baryta.slurry_gain_g_per_mmol == pytest.approx(gain, abs=2e-5)


def test_hydroxides_take_up_carbon_dioxide_and_salts_do_not():
    names = {s: {e.name for e in ss.Protocol.default(s).effects} for s in ("lime", "KNO3")}
    assert {"residue_carbonation", "filtrate_carbonation"} <= names["lime"]
    assert not any("carbonation" in n for n in names["KNO3"])


def test_hydrates_may_lose_crystal_water():
    for solid in ("gypsum", "borax", "Ba(OH)2.8H2O"):
        effect = ss.Protocol.default(solid).effect("dehydration")
        assert effect.expected
        assert effect.u_shared > 0
    assert "dehydration" not in {e.name for e in ss.Protocol.default("lime").effects}


def test_prior_sizes_are_the_moments_of_their_distributions():
    from scipy import stats

    lime = ss.Protocol.default("lime")
    for name, shape in {
        "residue_carbonation": stats.beta(1.5, 30),
        "transfer_loss": stats.beta(1.5, 60),
        "constant_loss": stats.halfnorm(scale=0.04),
        "fines": stats.halfnorm(scale=0.006),
        "fibres": stats.halfnorm(scale=0.010),
        "undersaturation": stats.halfnorm(scale=0.03),
        "early_carbonation": stats.halfnorm(scale=0.05),
    }.items():
        effect = lime.effect(name)
        assert effect.mean == pytest.approx(shape.mean(), rel=0.02), name
        assert effect.sd_between == pytest.approx(shape.std(), rel=0.02), name
    vacuum = next(dict(o.settings) for o in lime.overrides if o.when == (("filtration", "vacuum"),))
    liquor = stats.lognorm(0.4, scale=0.7)
    assert vacuum["effects.retained_liquor.mean"] == pytest.approx(liquor.mean(), rel=0.02)
    assert vacuum["effects.retained_liquor.sd_between"] == pytest.approx(liquor.std(), rel=0.02)


def test_occasional_effects_are_priors_but_not_in_the_budget(class_frame):
    lime = ss.Protocol.default("lime")
    rare = {e.name for e in lime.effects if not e.expected}
    assert {"paper_tare_missed", "missed_fill", "washed_cake"} <= rare
    budget = ss.estimate(class_frame, lime).budget
    assert not rare & set(budget["quantity"])


def test_file_round_trip(tmp_path):
    first = ss.Protocol.default("lime").with_settings({"balance.readability_g": 0.001})
    first.to_toml(tmp_path / "p.toml")
    again = ss.Protocol.from_toml(tmp_path / "p.toml")
    assert again.effects == first.effects
    assert again.overrides == first.overrides
    assert again.balance == first.balance
    assert tomllib.loads(again.to_toml()) == tomllib.loads(first.to_toml())


def test_file_keeps_defaults_for_what_it_leaves_out(tmp_path):
    path = tmp_path / "p.toml"
    path.write_text('[cylinder]\ncapacity_ml = 250\ngrade = "A"\n[effects.fines]\nmean = 0.01\n')
    protocol = ss.Protocol.from_toml(path, solute="KNO3")
    assert protocol.solid.name == "potassium nitrate"
    assert protocol.cylinder.capacity_ml == 250.0
    assert protocol.effect("fines").mean == 0.01
    assert protocol.effect("fines").sd_between == 0.0036
    assert protocol.given == {"cylinder.capacity_ml", "cylinder.grade", "effects.fines.mean"}
    origin = protocol.settings().set_index("setting")["origin"]
    assert origin["cylinder.grade"] == "given"
    assert origin["balance.readability_g"] == "default"


def test_a_new_effect_may_be_added(tmp_path, class_frame):
    path = tmp_path / "p.toml"
    path.write_text(
        '[effects.paper_regain]\nmean = 0.03\nterm = "mine"\n[solid]\nname = "lime"\n'
        '[effects.humming]\nterm = "humming"\nroutes = ["titration"]\nunit = "mL"\n'
        'mean = 0.1\nu_shared = 0.1\nsd_between = 0.1\nbasis = "a guess"\nrate = 0.5\n'
    )
    protocol = ss.Protocol.from_toml(path)
    assert protocol.effect("humming").rate == 0.5
    assert ss.estimate(class_frame, protocol).table["used"].all()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("balance = 3", "table of settings"),
        ("[balance]\nreadabilty_g = 1", "no such setting"),
        ("[balance]\nreadability_g = -1", "zero or more"),
        ("[balance]\nreadability_g = true", "zero or more"),
        ("[balance]\nreadability_g = nan", "zero or more"),
        ('[cylinder]\ngrade = "C"', "A or B"),
        ("[scales]\nx = 1", "unknown table"),
        ("[effects.new]\nmean = 1", "lacks settings"),
        ('[effects.fines]\nroutes = ["boiling"]', "unknown route"),
        ("[[override]]\nbalance.readability_g = 1", "for which runs"),
        ('[[override]]\nwhen = {section = "A"}\nbalance.nothing = 1', "no such setting"),
        ('[[override]]\nwhen = {section = "A"}\nbalance.readability_g = "x"', "zero or more"),
        ('[[override]]\nwhen = {section = "A"}\neffects.nothing.mean = 1', "no such effect"),
        ("not toml", "cannot be read"),
    ],
)
def test_wrong_files_are_refused_with_the_place(tmp_path, text, message):
    path = tmp_path / "p.toml"
    path.write_text(text)
    with pytest.raises(InputError, match=message) as caught:
        ss.Protocol.from_toml(path)
    assert "p.toml" in str(caught.value) or "protocol" in str(caught.value)


def test_missing_file(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        ss.Protocol.from_toml(tmp_path / "none.toml")


def test_settings_per_run():
    protocol = ss.Protocol.default("lime").with_settings({"balance.drift_g": 0.001})
    runs = pd.DataFrame(
        {"filtration": ["vacuum", None, "gravity"], "constant_mass": [pd.NA, True, False]}
    )
    settings = RunSettings(protocol, runs)
    assert settings.number("balance.drift_g") == 0.001
    np.testing.assert_allclose(settings.number("effects.retained_liquor.mean"), [0.76, 1.2, 1.63])
    np.testing.assert_allclose(
        settings.number("effects.residual_moisture.mean"), [0.019, 0.004, 0.019]
    )


def test_unknown_paths():
    protocol = ss.Protocol.default("lime")
    with pytest.raises(InputError, match="no such setting"):
        protocol.get("balance.colour")
    with pytest.raises(InputError, match="no such effect"):
        protocol.effect("luck")
    with pytest.raises(InputError):
        protocol.with_settings({"balance.colour": 1.0})


def test_protocol_is_frozen_hashable_in_parts_and_pickles():
    protocol = ss.Protocol.default("lime")
    with pytest.raises(AttributeError):
        protocol.balance = None
    assert pickle.loads(pickle.dumps(protocol)) == protocol
    assert "calcium hydroxide" in repr(protocol)
    assert protocol.without_effects().effects == ()


def test_an_override_for_the_same_runs_takes_over_and_others_stay(tmp_path):
    path = tmp_path / "p.toml"
    path.write_text(
        '[solid]\nname = "lime"\n[[override]]\nwhen = { filtration = "vacuum" }\n'
        "effects.retained_liquor.mean = 0.5\n"
    )
    protocol = ss.Protocol.from_toml(path)
    conditions = [o.when for o in protocol.overrides]
    assert len(conditions) == len(set(conditions))
    runs = pd.DataFrame({"filtration": ["vacuum", "gravity"]})
    settings = RunSettings(protocol, runs)
    np.testing.assert_allclose(settings.number("effects.retained_liquor.mean"), [0.5, 1.63])
    np.testing.assert_allclose(settings.number("effects.retained_liquor.u_shared"), [0.2, 0.4])


def test_a_protocol_built_directly_knows_what_was_given(class_frame):
    balance = Balance(readability_g=0.001, basis="certificate")
    protocol = ss.Protocol(solid=Solid(name="lime"), balance=balance)
    assert protocol.given == {"balance.readability_g", "solid.name"}
    assert ss.Protocol().given == frozenset()
    assert ss.Protocol.default("lime").given == frozenset()
    table = ss.estimate(class_frame, protocol).table
    assert table["value_g_per_100g"].to_numpy() == pytest.approx(
        table["apparent_g_per_100g"].to_numpy()
    )
