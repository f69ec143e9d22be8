"""The curve as its users meet it."""

from __future__ import annotations

import json
import pickle
import warnings

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import solubility_stats as ss
from solubility_stats.errors import InputError, OutOfRangeError, UnreadableFileError
from solubility_stats.reference import ExtrapolationWarning, ReferenceCurve, curve


@pytest.fixture(scope="module")
def lime():
    return curve("calcium hydroxide")


def test_public_face(lime):
    assert type(ss.curve("Ca(OH)2")) is ss.ReferenceCurve
    value, u = lime.at(25.0)
    assert type(value) is float
    assert type(u) is float
    assert (lime.low_c, lime.high_c, lime.solute) == (0.0, 100.0, "calcium hydroxide")
    assert lime.basis == "g Ca(OH)2 per 100 g water"


def test_arrays_agree_with_scalars(lime):
    grid = np.array([0.0, 22.0, 25.0, 25.0, 100.0])
    value, u = lime.at(grid)
    assert value.shape == u.shape == grid.shape
    for i, t in enumerate(grid):
        assert lime.at(float(t)) == pytest.approx((value[i], u[i]), rel=1e-12)
    with pytest.raises(InputError, match="one-dimensional"):
        lime.at([[1.0, 2.0]])


def test_temperature_uncertainty_goes_through_the_slope(lime):
    slope = lime.slope(22.0)
    assert slope < 0  # retrograde
    plain, warm = lime.at(22.0), lime.at(22.0, 2.0)
    assert warm.value == plain.value
    assert warm.u == pytest.approx(np.hypot(plain.u, 2 * slope))


@given(st.floats(0.5, 99.5))
def test_slope_is_the_derivative(t_c):
    lime = curve("calcium hydroxide")
    step = 0.01
    numeric = (lime.at(t_c + step).value - lime.at(t_c - step).value) / (2 * step)
    assert lime.slope(t_c) == pytest.approx(numeric, rel=1e-4)


def test_covariance_and_loadings_are_the_same_thing(lime):
    grid = [10.0, 22.0, 40.0]
    covariance = lime.covariance(grid, u_t=0.5)
    loadings, names = lime.loadings(grid)
    assert loadings.shape == (3, len(names))
    np.testing.assert_allclose(loadings, covariance.loadings)
    np.testing.assert_allclose(covariance.variance, (0.5 * lime.slope(grid)) ** 2)
    np.testing.assert_allclose(np.sqrt(covariance.diagonal()), lime.at(grid, 0.5).u)


def test_ufloats_carry_the_sharing(lime):
    first, second = lime.at([22.0, 25.0], as_ufloat=True)
    value, u = lime.at([22.0, 25.0])
    assert (first.n, first.s) == pytest.approx((value[0], u[0]))
    dense = lime.covariance([22.0, 25.0]).dense()
    assert (first - second).s == pytest.approx(np.sqrt(dense[0, 0] + dense[1, 1] - 2 * dense[0, 1]))
    assert (first - second).s < 0.2 * first.s
    assert lime.at(22.0, 1.0, as_ufloat=True).s == pytest.approx(lime.at(22.0, 1.0).u)


def test_outside_the_range(lime):
    with pytest.raises(OutOfRangeError, match="extrapolate=True"):
        lime.at([25.0, 104.0])
    with pytest.warns(ExtrapolationWarning, match=r"104\.0") as caught:
        near = lime.at(104.0, extrapolate=True)
    assert caught[0].filename == __file__
    with pytest.warns(ExtrapolationWarning):
        far = lime.at(115.0, extrapolate=True)
    edge = lime.at(100.0)
    assert edge.u / edge.value < near.u / near.value < far.u / far.value
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        lime.at(99.0, extrapolate=True)


def test_missing_temperatures_are_named(lime):
    with pytest.raises(InputError, match=r"positions \[1\] of 3"):
        lime.at([20.0, np.nan, 25.0])


def test_unusable_temperatures_are_refused(lime):
    with pytest.raises(InputError, match="not a number"):
        lime.at("warm")
    with pytest.raises(InputError, match="missing or negative"):
        lime.at(25.0, u_t=np.nan)
    with pytest.raises(InputError, match="missing or negative"):
        lime.covariance([20.0, 25.0], u_t=[0.5, -1.0])


def test_by_source(lime):
    frame = lime.by_source([22.0, 60.0])
    assert list(frame.columns) == [
        "temperature_c",
        "source",
        "family",
        "quality",
        "value",
        "u",
        "percent_from_combined",
        "combined",
        "note",
    ]
    at22 = frame[frame["temperature_c"] == 22.0].set_index("source")
    at60 = frame[frame["temperature_c"] == 60.0].set_index("source")
    assert "carried" in at22.loc["NBS 1956", "note"]
    assert "NBS 1956" not in at60.index  # 35 K from its only temperature
    assert at22.loc["THEREDA 2020", "note"] == ""
    assert (frame["u"] > 0).all()
    assert set(at22.index) == set(lime.model.names)
    everyone = lime.by_source(22.0, every=True).set_index("source")
    assert set(everyone.index) == set(lime.sources["key"])
    assert not everyone.loc["Wikipedia infobox", "combined"]
    # Two values of one data box at 20 and 50 °C: the nearer one speaks.
    assert "its value at 20 °C" in everyone.loc["Wikipedia infobox", "note"]
    # The handbook series and the databases stand on opposite sides: a verdict may turn on it.
    assert at22.loc["Lange series", "percent_from_combined"] > 8
    assert at22.loc["Cemdata18", "percent_from_combined"] < -3


def test_spread_and_leave_one_out(lime):
    spread = lime.spread([0.0, 25.0, 100.0])
    assert (spread["lowest"] < spread["value"]).all()
    assert (spread["value"] < spread["highest"]).all()
    assert spread.loc[1, ["sources", "families"]].tolist() == [6, 4]
    left = lime.leave_one_out([25.0, 80.0])
    assert set(left["left_out"]) == set(lime.model.names)
    without = curve("lime", sources=[n for n in lime.model.names if n != "Cemdata18"])
    row = left[(left["left_out"] == "Cemdata18") & (left["temperature_c"] == 25.0)].iloc[0]
    assert row["value"] == pytest.approx(without.at(25.0).value)
    assert row["change_percent"] == pytest.approx(
        100 * (without.at(25.0).value / lime.at(25.0).value - 1)
    )
    assert curve("lithium carbonate").leave_one_out(25.0).empty


def test_choice_of_sources():
    one = curve("calcium hydroxide", sources=["thereda"])
    assert one.model.names == ("THEREDA 2020",)
    assert "widened" in one.headline()
    assert one.at(25.0).u / one.at(25.0).value == pytest.approx(0.05, rel=0.05)
    several = curve("calcium hydroxide", sources=["THEREDA", "Thermoddem", "Seidell/Perry"])
    assert len(several.model.names) == 3
    # The beginning of several keys takes them all.
    assert len(curve("lime", sources="Seidell").model.names) == 2
    with pytest.raises(InputError, match="no such source"):
        curve("lime", sources="nobody")
    with pytest.raises(InputError, match="no source"):
        curve("lime", sources=[])


def test_a_single_temperature_is_carried_and_pays_for_it():
    nbs = curve("calcium hydroxide", sources="NBS")
    assert (nbs.low_c, nbs.high_c) == (15.0, 35.0)
    at25, at17 = nbs.at(25.0), nbs.at(17.0)
    assert at17.u / at17.value > at25.u / at25.value
    default = curve("calcium hydroxide")
    assert nbs.slope(25.0) / at25.value == pytest.approx(
        default.slope(25.0) / default.at(25.0).value, rel=1e-3
    )
    with pytest.raises(OutOfRangeError):
        nbs.at(40.0)
    spread = nbs.spread([17.0, 25.0])
    assert np.isfinite(spread.to_numpy(dtype=float)).all()
    assert spread["lowest"].tolist() == pytest.approx(spread["value"].tolist())
    assert "NBS 1956" in str(nbs)


def test_alternatives(lime):
    others = lime.alternatives()
    assert {"THEREDA 2020", "Thermoddem 1.10", "Cemdata18", "Seidell/Perry"} <= set(others)
    assert "French Wikipedia" not in others  # three points bear no curve
    assert others["Cemdata18"].at(25.0).value < others["Seidell/Perry"].at(25.0).value


def test_units(lime):
    assert lime.in_unit(25.0, "mol/kg").value == pytest.approx(0.0203, rel=0.01)
    gypsum = curve("gypsum")
    as_anhydrous = gypsum.in_unit([20.0, 25.0], "g/100 g water", formula="CaSO4")
    # CRC: 0.205 mass percent of CaSO4 at 25 °C.
    assert as_anhydrous.value[1] == pytest.approx(0.2054, rel=0.02)
    ratio = as_anhydrous.u / as_anhydrous.value
    np.testing.assert_allclose(ratio, gypsum.at([20, 25]).u / gypsum.at([20, 25]).value, rtol=0.01)
    # Saturated brine is 317 g/L at 25 °C (density 1.1978 g/mL, from memory).
    assert curve("NaCl").in_unit(25.0, "g/L").value == pytest.approx(317, rel=0.005)


def test_prints_and_serialises(lime):
    text = str(lime)
    assert "0.1503 ± 0.0094 g Ca(OH)2 per 100 g water at 25 °C" in text
    assert "Along the range" in text
    assert "<table" in lime._repr_html_()
    said = json.loads(json.dumps(lime.to_dict(), allow_nan=False))
    assert said["solute"] == "calcium hydroxide"
    assert any("Bates" in row["citation"] for row in said["citations"])
    assert "1 family" in repr(curve("silver chloride"))


def test_travels_and_cannot_be_changed(lime):
    back = pickle.loads(pickle.dumps(lime))
    assert back.at(22.0) == lime.at(22.0)
    with pytest.raises(ValueError, match="read-only"):
        lime.data.sources[0].value[0] = 0.0
    with pytest.raises(AttributeError):
        lime.low_c = -5.0


def test_plot_uses_the_axes_it_gets(lime):
    import matplotlib as mpl
    from matplotlib import pyplot as plt

    before = dict(mpl.rcParams)
    _, (left, right) = plt.subplots(1, 2)
    assert lime.plot(left) is left
    assert not right.lines
    assert len(plt.get_fignums()) == 1
    assert "°C" in left.get_xlabel()
    own = curve("sodium chloride").plot()
    assert own.figure is not left.figure
    assert dict(mpl.rcParams) == before


# --- the reader's own data -----------------------------------------------------------------


def test_own_frame_is_not_changed_and_its_u_counts():
    frame = pd.DataFrame(
        {"temperature_c": [40.0, 20.0], "value": [2.0, 1.0], "u": [0.2, 0.1]}, index=[7, 7]
    )
    copy = frame.copy()
    own = ReferenceCurve.from_frame(frame, "mystery", between_percent=1.0)
    pd.testing.assert_frame_equal(frame, copy)
    value, u = own.at(20.0)
    assert value == pytest.approx(1.0, rel=1e-6)
    assert u == pytest.approx(np.hypot(0.1, 0.01), rel=0.01)


def test_own_csv_and_toml_give_the_same_curve(tmp_path):
    points = [(10, 1.43), (20, 1.33), (30, 1.24), (40, 1.15), (50, 1.07)]
    table = tmp_path / "mine.csv"
    pd.DataFrame(points, columns=["temperature_c", "value"]).to_csv(table, index=False)
    from_csv = ReferenceCurve.from_csv(table, "x", formula="Li2CO3", unit="mass_percent")
    listed = ", ".join(f"[{t}, {v}]" for t, v in points)
    settings = tmp_path / "mine.toml"
    settings.write_text(
        f'name = "x"\nformula = "Li2CO3"\n[[source]]\nkey = "own data"\n'
        f'unit = "mass_percent"\npoints = [{listed}]\n',
        encoding="utf-8",
    )
    from_toml = ReferenceCurve.from_toml(settings)
    np.testing.assert_allclose(from_csv.at([10, 35]), from_toml.at([10, 35]))
    assert from_csv.at(20.0).value == pytest.approx(133 / 98.67, rel=0.003)


def test_unreadable_points(tmp_path):
    with pytest.raises(UnreadableFileError, match=r"gone\.csv"):
        ReferenceCurve.from_csv(tmp_path / "gone.csv", "x")
    empty = tmp_path / "empty.csv"
    empty.touch()
    with pytest.raises(UnreadableFileError, match=r"empty\.csv"):
        ReferenceCurve.from_csv(empty, "x")


def test_points_without_a_source_are_the_readers_own():
    frame = pd.DataFrame(
        {"temperature_c": [20.0, 40.0, 20.0], "value": [1.0, 2.0, 1.1], "source": [None, None, "b"]}
    )
    own = ReferenceCurve.from_frame(frame, "x")
    assert own.model.names == ("own data", "b")


def test_one_temperature_alone_has_no_slope():
    frame = pd.DataFrame({"temperature_c": [25.0], "value": [1.0]})
    own = ReferenceCurve.from_frame(frame, "x")
    assert own.at(25.0).value == pytest.approx(1.0)
    with pytest.raises(InputError, match="slope is unknown"):
        own.at(25.0, u_t=1.0)
    with pytest.raises(OutOfRangeError):
        own.at(26.0)


@pytest.mark.parametrize(
    ("frame", "message"),
    [
        ({"t": [1.0], "value": [1.0]}, "columns are missing"),
        ({"temperature_c": [20.0, np.nan], "value": [1.0, 2.0]}, "not a temperature"),
        ({"temperature_c": [20.0], "value": [-1.0]}, "solubility"),
        ({"temperature_c": [20.0], "value": ["a"]}, "points must be"),
    ],
)
def test_own_data_must_make_sense(frame, message):
    with pytest.raises(InputError, match=message):
        ReferenceCurve.from_frame(pd.DataFrame(frame), "x")
