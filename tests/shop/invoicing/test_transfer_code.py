"""The transfer code by EPC069-12, version 2.1 (seen at doczz.fr): rows, limits, and a decoder."""

from decimal import Decimal

import numpy as np
import pytest
import zxingcpp

from portal.shop.invoicing.settings import Bank
from portal.shop.invoicing.transfer_code import MOST_BYTES, transfer_code
from portal.web.kit.paper.qr import QUIET, modules
from tests.shop.invoicing.papers import IBAN

BANK = Bank(iban=IBAN, bic="BYLADEM1001", holder="Fennholt Coating Works")


def code(due: str = "336.00", currency: str = "EUR", bank: Bank = BANK, seller: str = "Works"):
    return transfer_code(bank, seller, Decimal(due), currency, "R2026-0001")


def test_the_rows_stand_in_the_order_of_the_guidelines() -> None:
    assert code() == "\n".join(
        ["BCD", "002", "1", "SCT", "BYLADEM1001", "Fennholt Coating Works", IBAN, "EUR336.00", "",
         "", "R2026-0001"]
    )  # fmt: skip


@pytest.mark.parametrize(
    "none",
    [
        code(currency="GBP"),
        code(bank=Bank()),
        code(due="0"),
        code(due="-1"),
        code(due="1000000000.00"),
    ],
)
def test_what_no_such_transfer_can_pay_has_no_code(none: str | None) -> None:
    assert none is None


def test_a_long_name_is_cut_and_the_whole_fits() -> None:
    long = code(bank=Bank(iban=IBAN, holder="Ünterlänge " * 12))
    assert long is not None
    assert len(long.split("\n")[5]) <= 70
    assert len(long.encode()) <= MOST_BYTES


def test_a_decoder_reads_it_back_at_level_m() -> None:
    text = code() or ""
    rows = np.array(modules(text, exact=True), dtype=bool)
    assert len(rows) <= 69  # version 13 is the largest that the guidelines allow
    picture = np.pad(np.where(rows, 0, 255).astype(np.uint8), QUIET, constant_values=255)
    (found,) = zxingcpp.read_barcodes(np.kron(picture, np.ones((6, 6), dtype=np.uint8)))
    assert found.text == text
    assert found.ec_level == "M"
