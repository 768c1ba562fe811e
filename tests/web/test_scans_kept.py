"""Scans that a device has kept, sent while the database can't save: the device keeps them."""

from portal.orders.kernel.errors import Unavailable
from portal.orders.production import floor
from tests.cast import token_of


def test_while_nothing_can_be_saved_kept_scans_are_not_answered_one_by_one(
    staff_client, monkeypatch
) -> None:
    token = token_of(staff_client.get("/counter/floor").get_data(as_text=True))

    def fails(*_: object, **__: object) -> None:
        raise Unavailable

    monkeypatch.setattr(floor, "scan_part", fails)
    scan = {"scan_id": "scan-1", "q": "101", "where": "floor:blast", "by": ""}
    sent = {"json": {"scans": [scan]}, "headers": {"X-CSRFToken": token}}
    assert staff_client.post("/counter/scans", **sent).status_code == 503
