"""The scalar face: one preparation in, a number with uncertainty and a budget out."""

import matplotlib.pyplot as plt
import pytest

import solubility_stats as ss
from solubility_stats.errors import InputError

LIME = "calcium hydroxide"


@pytest.fixture
def preparation():
    return ss.Preparation(2.50, 2.02, fills_ml=[100, 100, 100], solute=LIME, temperature_c=22.0)


def test_the_number_is_that_of_a_class_of_one(preparation):
    row = preparation.estimates.table.iloc[0]
    assert preparation.solubility.nominal_value == pytest.approx(row["value_g_per_100g"])
    assert preparation.solubility.std_dev == pytest.approx(row["u_g_per_100g"], rel=1e-12)
    assert preparation.apparent.std_dev == pytest.approx(row["u_apparent_g_per_100g"], rel=1e-12)
    assert preparation.interval == (row["low_g_per_100g"], row["high_g_per_100g"])


def test_components_travel_with_the_number(preparation):
    parts = {var.tag: e for var, e in preparation.solubility.error_components().items()}
    frame = preparation.budget.frame.set_index("component")["contribution_g_per_100g"]
    assert parts.keys() == set(frame.index)
    for name, size in parts.items():
        assert size == pytest.approx(abs(frame[name]))


def test_budget_prints_as_a_table_largest_first(preparation):
    text = str(preparation.budget)
    assert text.index("water left in the residue: group") < text.index("initial mass: resolution")
    assert "share_percent" in text
    assert "0.156 ± 0.032 g/100 g water" in repr(preparation)
    assert "<table" in preparation._repr_html_()
    causes = preparation.budget.by_cause()
    assert causes.to_numpy().sum() == pytest.approx(100.0)
    assert causes.loc["proportional transfer loss", "shared_percent"] > 0


def test_plot_draws_where_told_and_only_there(preparation):
    figure, (left, right) = plt.subplots(1, 2)
    assert preparation.plot(ax=right) is right
    assert not left.patches
    assert right.patches
    assert len(figure.axes) == 2
    total = sum(bar.get_width() for bar in right.patches)
    assert total == pytest.approx(100.0)
    assert preparation.plot() is not right


def test_titration_and_route_choice():
    p = ss.Preparation(solute="Ca(OH)2", titrant_ml=11.0, titrant_mol_per_l=0.1, aliquot_ml=25.0)
    assert p.route == "titration"
    assert 0.15 < p.solubility.nominal_value < 0.18
    with pytest.raises(InputError, match="readings"):
        ss.Preparation(2.5, 2.0, water_volume_ml=300.0, solute=LIME, route="titration")


@pytest.mark.parametrize(
    ("readings", "message"),
    [
        ({"initial_mass_g": 2.5, "water_volume_ml": 300.0}, "missing: recovered mass"),
        ({"initial_mass_g": 2.5, "recovered_mass_g": 2.0}, "missing: water volume"),
        ({"initial_mass_g": 2.5, "recovered_mass_g": 2.0, "colour": 3}, "no reading of this name"),
    ],
)
def test_readings_that_give_nothing(readings, message):
    with pytest.raises(InputError, match=message):
        ss.Preparation(solute=LIME, **readings)
