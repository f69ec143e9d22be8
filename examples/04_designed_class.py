"""Planned amounts of solid and water: an answer free of every error proportional to the residue.

With one recipe a class gives one number and cannot tell its causes apart. Give the groups different
amounts and fit recovered mass = a · solid − b · water + k: moisture, carbonation, retained liquor
and proportional loss scale a and b alike, so b/a is free of them. (Invented data.)
"""

import solubility_stats as ss
from solubility_stats.simulation import Recipe, simulate

recipe = Recipe(initial_mass_g=(1.0, 1.5, 2.0), fills=(2, 4, 6, 8))
protocol = ss.Protocol.default("calcium hydroxide").with_settings({"balance.readability_g": 0.001})
lossy = simulate(protocol, groups=36, causes={"transfer_loss": 0.10}, recipe=recipe, seed=11)
est = ss.estimate(lossy.records, protocol)
curve = ss.curve("calcium hydroxide")

truth = lossy.truth["solubility_g_per_100g"].mean()
print(f"true solubility in this simulation: {truth:.4f} g per 100 g water")
print("plain mean:", f"{est.used()['apparent_g_per_100g'].mean():.4f}")
print(ss.bias.designed_fit(est, curve))
