"""Net, tax and gross of an invoice, for each rate, as EN 16931 adds them up.

The tax is computed once for each rate from the sum of its lines (BR-CO-17), never line by line.
The gross is what was agreed with the customer. A few gross sums can't be reached so: 0.03 at 20 %
is 0.02 with the tax rounded down, or 0.04 with it rounded up. Then the tax is the norm's, and the
cent that is left over is the rounding amount (BT-114), shown as such.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from portal.shop.money import round_half_up


@dataclass(frozen=True, slots=True)
class TaxedSum:
    """One rate's share of an invoice in minor units; `net + tax + rounding` is what was agreed."""

    percent: Decimal
    net: int
    tax: int
    rounding: int = 0

    @property
    def gross(self) -> int:
        """Net and tax, without the rounding amount."""
        return self.net + self.tax


def tax_on(net: int, percent: Decimal) -> int:
    """Return the tax on a net sum, rounded half up to a minor unit (EN 16931, BR-CO-17)."""
    return round_half_up(net * percent / 100)


def taxed(gross: int, percent: Decimal) -> TaxedSum:
    """Split an agreed gross sum; a negative one is the mirror of its opposite."""
    if gross < 0:
        own = taxed(-gross, percent)
        return TaxedSum(percent, -own.net, -own.tax, -own.rounding)
    net = gross - round_half_up(gross * percent / (100 + percent))
    # the neighbour can be the one that the norm's rounding meets exactly
    for near in (net, net - 1, net + 1):
        if near >= 0 and near + tax_on(near, percent) == gross:
            return TaxedSum(percent, near, gross - near)
    tax = tax_on(net, percent)
    return TaxedSum(percent, net, tax, gross - net - tax)


def fit(total: int, exact: Sequence[Decimal]) -> tuple[int, ...]:
    """Round each of `exact` so that they add up to `total`.

    What rounding leaves over goes, a unit each, to those that it was furthest from; more than that
    goes to the first.
    """
    rounded = [round_half_up(one) for one in exact]
    left = total - sum(rounded)
    step = 1 if left > 0 else -1
    by_error = sorted(range(len(exact)), key=lambda n: (step * (rounded[n] - exact[n]), n))
    for n in by_error[: abs(left)]:
        rounded[n] += step
        left -= step
    if rounded and left:
        rounded[0] += left
    return tuple(rounded)
