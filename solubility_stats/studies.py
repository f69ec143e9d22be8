"""The studies of one class's results that go with its pooled value, where the class allows them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from solubility_stats.errors import InputError

if TYPE_CHECKING:
    from solubility_stats.measurement import Estimates
    from solubility_stats.pooling import (
        Consensus,
        EstimatorTable,
        Factors,
        IdenticalRows,
        Precision,
        ReadingDigits,
        StandsApart,
        TwoSample,
    )
    from solubility_stats.records import ClassRecords

T = TypeVar("T")


@dataclass(frozen=True)
class Studies:
    """What can be said of a class beside its value; None where it is too small or too plain.

    Attributes
    ----------
    consensus, apparent : Consensus
        The class's value after the expected effects, and as plainly computed.
    estimators : EstimatorTable or None
        Every estimator side by side.
    standing : StandsApart or None
        Groups that stand apart.
    factors : Factors or None
        What goes with higher or lower results.
    precision : Precision or None
        Spread within and between groups and sections, for classes with repeated runs.
    two_runs : TwoSample or None
        Systematic against random, for groups with two runs.
    digits : ReadingDigits or None
        Final digits of the readings.
    identical : IdenticalRows or None
        Runs that hold the same readings.
    """

    consensus: Consensus
    apparent: Consensus
    estimators: EstimatorTable | None
    standing: StandsApart | None
    factors: Factors | None
    precision: Precision | None
    two_runs: TwoSample | None
    digits: ReadingDigits | None
    identical: IdenticalRows | None


def study(records: ClassRecords, estimates: Estimates, route: str) -> Studies:
    """Do every study the class allows.

    Parameters
    ----------
    records : ClassRecords
        For the readings as written.
    estimates : Estimates
        For the results.
    route : str
        Route studied.
    """
    from solubility_stats import pooling

    used = estimates.used(route)
    repeated = bool(used.duplicated(["semester", "section", "group"]).any())

    def of_repeated(make: Callable[[], T]) -> T | None:
        return _if_possible(make) if repeated else None

    return Studies(
        consensus=pooling.pool(estimates, route=route),
        apparent=pooling.pool(estimates, route=route, apparent=True),
        estimators=_if_possible(lambda: pooling.compare_estimators(estimates, route=route)),
        standing=_if_possible(lambda: pooling.stands_apart(estimates, route=route)),
        factors=_if_possible(lambda: pooling.factors(estimates, route=route)),
        precision=of_repeated(lambda: pooling.precision(estimates, route=route)),
        two_runs=of_repeated(lambda: pooling.two_sample(estimates, route=route)),
        digits=_if_possible(lambda: pooling.reading_digits(records)),
        identical=_if_possible(lambda: pooling.identical_rows(records)),
    )


def _if_possible(make: Callable[[], T]) -> T | None:
    """Return a study's result, or None for a class too small or too plain for it."""
    try:
        return make()
    except InputError:
        return None
