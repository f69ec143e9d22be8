"""Error limits, resolution and buoyancy."""

from __future__ import annotations

import pytest

from solubility_stats.errors import InputError
from solubility_stats.reference import glassware, weighing


@pytest.mark.parametrize(
    ("capacity", "grade", "limit"),
    # ASTM E1272-02(2012), Table 1.
    [(10, "A", 0.10), (10, "B", 0.20), (25, "B", 0.34), (50, "B", 0.50), (100, "A", 0.50)],
)
def test_cylinders(capacity, grade, limit):
    assert glassware.cylinder_tolerance(capacity, grade) == pytest.approx(limit)


def test_class_b_is_the_cautious_default():
    assert glassware.cylinder_tolerance(50) == 2 * glassware.cylinder_tolerance(50, "a")


def test_unlisted_capacity_takes_the_next_smaller_limit():
    # ASTM E1272 lays this down for unlisted sizes.
    assert glassware.cylinder_tolerance(60) == glassware.cylinder_tolerance(50)
    assert glassware.cylinder_tolerance(2) == glassware.cylinder_tolerance(5)


def test_other_vessels():
    assert glassware.pipette_tolerance(10, "A") == 0.02  # ASTM E969
    assert glassware.burette_tolerance(50, "A") == 0.05  # ISO 385
    assert glassware.burette_tolerance() == pytest.approx(0.10)  # ASTM E287, class B
    assert glassware.flask_tolerance(100, "A") == 0.08
    assert glassware.cylinder_division(100) == 1.0


def test_the_table_tells_what_is_from_memory():
    table = glassware.table()
    assert set(table["kind"]) == {"cylinder", "pipette", "burette", "flask"}
    iso = table[table["standard"] == "ISO 4788"]
    assert iso["from_memory"].all()
    assert not table[(table["kind"] == "pipette")]["from_memory"].any()
    assert (table["class_b_ml"] == 2 * table["class_a_ml"]).all()


def test_refusals():
    with pytest.raises(InputError, match="accuracy class"):
        glassware.cylinder_tolerance(50, "C")
    with pytest.raises(InputError, match="no error limit"):
        glassware.pipette_tolerance(250)
    with pytest.raises(InputError, match="unknown standard"):
        glassware.cylinder_tolerance(50, standard="X")
    with pytest.raises(InputError, match="positive"):
        weighing.resolution_u(0.0)
    with pytest.raises(InputError, match="not above that of air"):
        weighing.buoyancy_factor([2.0, 0.0])


def test_resolution():
    # GUM F.2.2.1: full width d gives d/√12; 0.01 g reads to 2.9 mg.
    assert weighing.resolution_u(0.01) == pytest.approx(0.00288675, rel=1e-5)


def test_buoyancy():
    # Worked example of a balance maker's handbook: 90.00000 g in air of 1.126 kg/m3, body of
    # 2500 kg/m3, gives 90.02788 g.
    assert 90 * weighing.buoyancy_factor(2.5, 1.126e-3) == pytest.approx(90.02788, abs=1e-5)
    assert weighing.buoyancy_factor(0.99705) == pytest.approx(1.0010548, abs=2e-6)
    assert weighing.buoyancy_factor([8.0, 8.0]) == pytest.approx([1.0, 1.0])
