"""What the law of a place wants of an invoice; the table is `craft/data/invoice_rules.toml`."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from portal.craft.tables import toml_table

# the members of the European Union (as of 2020), by ISO 3166
EU = frozenset(
    {
        "AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE",
        "IT", "LT", "LU", "LV", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK",
    }
)  # fmt: skip
# where invoices by EN 16931 are read: members of CEN among those who use the norm
BY_THE_NORM = EU | {"GB", "CH", "NO", "IS", "LI"}


@dataclass(frozen=True, slots=True)
class InvoiceRules:
    """What an invoice of a place holds.

    `short_up_to` is a gross sum in major units: up to it, a receipt that doesn't name the buyer's
    address proves the tax; None where no such limit is known.
    """

    needs_tax_number: bool
    short_up_to: Decimal | None
    deposit_taxed: bool
    years: int


@cache
def invoice_rules(country: str) -> InvoiceRules:
    """Return the rules of a country (ISO 3166)."""
    rows: Mapping[str, Any] = {
        row["country"]: row for row in toml_table("invoice_rules.toml")["rule"]
    }
    row = rows.get(country) or rows["EU" if country in EU else "*"]
    limit = row["short_up_to"]
    return InvoiceRules(
        needs_tax_number=row["tax_number"],
        short_up_to=Decimal(limit) if limit else None,
        deposit_taxed=row["deposit_taxed"],
        years=row["years"],
    )
