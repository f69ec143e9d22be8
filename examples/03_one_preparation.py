"""One group's preparation: a value, its uncertainty, and where the uncertainty comes from."""

import solubility_stats as ss

ours = ss.Preparation(
    2.00,
    1.66,
    fills_ml=[50.0, 49.5, 50.0, 50.5],
    solute="calcium hydroxide",
    temperature_c=22.0,
    filtration="vacuum",
)
print(f"our solubility: {ours.solubility:.2u} g per 100 g water")
print(ours.budget)

value, u = ss.curve("calcium hydroxide").at(22.0)
print(f"literature at 22 °C: {value:.3f} ± {u:.3f} g per 100 g water")
