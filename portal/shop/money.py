"""Money in minor units, and the only rounding rule: half up.

How many decimals a currency has: ISO 4217 as the Unicode CLDR has it
(unicode.org/reports/tr35/tr35-numbers.html#Supplemental_Currency_Data); two where it is not named.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Annotated, Any

from portal.craft.message_json import also_keep

_DIGITS = {
    0: (
        "ADP AFN ALL BIF BYR CLP DJF ESP GNF IQD IRR ISK ITL JPY KMF KPW KRW LAK LBP LUF MGA MGF "
        "MMK MRO PYG RSD RWF SLL SOS STD SYP TMM TRL UGX UYI VND VUV XAF XOF XPF YER ZMK ZWD"
    ),
    3: "BHD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
DIGITS = {code: digits for digits, codes in _DIGITS.items() for code in codes.split()}


def digits_of(currency: str) -> int:
    """Return how many decimals the sums of a currency have."""
    return DIGITS.get(currency, 2)


class TooFine(ValueError):
    """A sum with more decimals than its currency has."""


def round_half_up(amount: Decimal) -> int:
    """Return `amount` rounded to a whole number, half away from zero."""
    return int(amount.quantize(Decimal(1), rounding=ROUND_HALF_UP))


@dataclass(frozen=True, slots=True, order=True)
class Money:
    """A sum in minor units (pence, cents) of one currency."""

    minor: int
    currency: str

    @classmethod
    def __get_pydantic_core_schema__(cls, _source: Any, handler: Any) -> Any:
        """Say how the schema reads and writes one: its minor units, in the reading's currency."""
        from pydantic import AfterValidator, PlainSerializer, Strict  # noqa: PLC0415  # only where one is read

        read = AfterValidator(lambda minor, info: cls(minor, info.context))
        write = PlainSerializer(lambda one: one.minor)
        return handler.generate_schema(Annotated[int, Strict(), read, write])

    @classmethod
    def of(cls, major: Decimal, currency: str) -> "Money":
        """Return a sum of pounds, euros or yen; raise TooFine where no coin is so small."""
        exact = major.scaleb(digits_of(currency))
        minor = round_half_up(exact)
        if minor != exact:
            raise TooFine
        return cls(minor, currency)

    def __add__(self, other: "Money") -> "Money":
        """Add within one currency; two currencies are a bug."""
        return Money(self.minor + self._same(other), self.currency)

    def __sub__(self, other: "Money") -> "Money":
        """Subtract within one currency."""
        return Money(self.minor - self._same(other), self.currency)

    def __neg__(self) -> "Money":
        """Turn a charge into a credit."""
        return Money(-self.minor, self.currency)

    def times(self, count: int) -> "Money":
        """Multiply by a count of things."""
        return Money(self.minor * count, self.currency)

    def share(self, factor: Decimal) -> "Money":
        """Multiply by a factor and round half up."""
        return Money(round_half_up(Decimal(self.minor) * factor), self.currency)

    @property
    def major(self) -> Decimal:
        """The sum in pounds, euros or yen, with the decimals that its currency has."""
        return Decimal(self.minor).scaleb(-digits_of(self.currency))

    @property
    def plain(self) -> str:
        """The sum as a plain decimal, as forms and files have it: 45.50, 45 or 45.500."""
        return f"{self.major:f}"

    def _same(self, other: "Money") -> int:
        if other.currency != self.currency:
            msg = f"cannot mix {self.currency} and {other.currency}"
            raise ValueError(msg)
        return other.minor


def total(sums: list[Money], currency: str) -> Money:
    """Add many sums; an empty list is 0 in `currency`."""
    return Money(sum(Money(0, currency)._same(one) for one in sums), currency)


also_keep("money", Money, lambda one: [one.minor, one.currency], lambda made_of: Money(*made_of))
