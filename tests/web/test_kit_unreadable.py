"""Input that nobody can type: refused with 400 or 404 on every page, never an accident."""

import json

import pytest

HUGE = "9" * 40


@pytest.fixture
def app(app, monkeypatch):
    """The app, whose accidents are pages."""
    monkeypatch.setattr(app, "testing", False)
    return app


def _token(client) -> str:
    """A form's token, as a page of ours carries it."""
    return client.get("/").text.partition('name="csrf_token" value="')[2].partition('"')[0]


def _paths(app) -> list[str]:
    """Every page that takes a number in its address, with a number that no row has."""
    rules = [rule for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ())]
    filled = []
    for rule in rules:
        kinds = {name: type(one).__name__ for name, one in rule._converters.items()}
        if "RowNumber" in kinds.values():
            given = {n: int(HUGE) if k == "RowNumber" else "7K3MP2XA" for n, k in kinds.items()}
            path = rule.rule
            for name, value in given.items():
                path = path.replace(f"<int:{name}>", str(value)).replace(f"<{name}>", str(value))
            filled.append(path)
    return filled


def test_a_number_that_no_row_can_have_is_not_found(app, staff_client) -> None:
    paths = _paths(app)
    assert len(paths) > 5
    assert {path: staff_client.get(path).status_code for path in paths} == dict.fromkeys(paths, 404)


@pytest.mark.parametrize("broken", ["\0", "a\0b", "\ud800", "x\udfff"])
def test_broken_characters_are_refused_in_every_place(client, broken: str) -> None:
    sent = broken.encode("utf-8", "surrogatepass")
    quoted = "".join(f"%{byte:02x}" for byte in sent)
    assert client.get(f"/?x={quoted}").status_code in (200, 400)
    assert client.get(f"/nowhere{quoted}").status_code == 404
    form = f"lang={quoted}&csrf_token={_token(client)}"
    kind = "application/x-www-form-urlencoded"
    assert client.post("/language", data=form, content_type=kind).status_code in (303, 400)


def test_a_nul_is_refused(client) -> None:
    assert client.get("/?x=a%00b").status_code == 400
    assert client.get("/?a%00b=x").status_code == 400
    assert client.get("/?x=a%2500b").status_code == 200  # read once, this is the text "a%00b"
    answer = client.post("/language", data={"lang": "a\0", "csrf_token": _token(client)})
    assert answer.status_code == 400


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
@pytest.mark.parametrize("path", ["/", "/language", "/counter/sign-in", "/counter/floor"])
def test_a_method_that_a_page_does_not_have_is_told(client, method: str, path: str) -> None:
    answer = getattr(client, method)(path)
    assert answer.status_code == 405
    assert answer.headers["Allow"]


def test_a_page_that_is_not_there_is_not_there_by_any_method(client) -> None:
    assert client.post("/nowhere").status_code == 404


@pytest.mark.parametrize("way", ["//evil.example", "/\\evil.example", "/\t/evil.example", "x"])
def test_the_choice_of_language_leads_nowhere_else(client, way: str) -> None:
    answer = client.post(
        "/language", data={"lang": "de", "back": way, "csrf_token": _token(client)}
    )
    assert answer.headers["Location"] == "/"


def test_deep_json_and_half_characters_of_a_scan_are_refused(app, staff_client) -> None:
    deep = "[" * 100_000 + "]" * 100_000
    half = json.dumps({"scans": [{"id": "\ud800", "code": "\ud800", "at": "\ud800"}]})
    token = _token(staff_client)
    for body in (deep, f'{{"scans": {deep}}}', half, f'{{"scans": [{HUGE}]}}'):
        answer = staff_client.post(
            "/counter/scans",
            data=body,
            content_type="application/json",
            headers={"X-CSRFToken": token},
        )
        assert answer.status_code < 500, body[:40]


def test_a_key_that_a_browser_made_up_marks_no_device(unit) -> None:
    from tests.orders.at_the_door import add_odd, enter  # a scene of the door

    add_odd(unit)
    made_up = "a" * 64
    entered = enter(unit, device=made_up)
    assert entered.device
    assert entered.device != made_up
    assert enter(unit, device=entered.device).device == entered.device
