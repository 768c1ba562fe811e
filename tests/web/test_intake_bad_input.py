"""What people really type: each gets a sentence beside its field, and nothing typed is lost."""

import pytest

from tests.web.walk import CONTACT, WHEELS, Customer


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


BAD_PARTS = {
    "a count of nought": ({"count": "0"}, "count"),
    "a count of four thousand": ({"count": "4000"}, "count"),
    "a letter in the count": ({"count": "4x"}, "count"),
    "no count": ({"count": ""}, "count"),
    "a three-inch rim": ({"size": "3Jx3"}, "size"),
    "a rim that says nothing": ({"size": "silver"}, "size"),
    "an impossible tyre": ({"size": "225/45 R99"}, "size"),
    "a tyre that fits no such rim": ({"size": "8Jx18, 205/55 R16 91V"}, "size"),
    "a tyre far too wide for the rim": ({"size": "6Jx18; 315/30 R18 98Y"}, "size"),
    "no size at all": ({"size": ""}, "size"),
    "no build": ({"build": None}, "build"),
    "a build that nobody offered": ({"build": "wooden"}, "build"),
    "a length with a letter in it": (
        {"kind": "plate", "length": "5o0", "width": "3", "height": "3"},
        "length",
    ),
    "a plate as long as a street": (
        {"kind": "plate", "length": "90 m", "width": "3", "height": "3"},
        "length",
    ),
    "a plate without a width": ({"kind": "plate", "length": "500", "height": "3"}, "width"),
}


@pytest.mark.parametrize("case", BAD_PARTS)
def test_parts_that_cannot_be_are_answered_beside_their_field(customer, case: str) -> None:
    values, field = BAD_PARTS[case]
    sent = {k: v for k, v in ({"note": ""} | WHEELS | values).items() if v is not None}
    answer = customer.send(**sent)
    assert answer.status_code == 422
    assert customer.page.one("title").text.startswith("Error")
    beside = customer.page.one("p", id=f"{field}-wrong")
    message = "".join(beside.itertext()).replace("Error:", "").strip()
    assert message in customer.errors()
    for name in ("count", "size", "length", "width"):
        if name in sent:
            assert customer.page.one("input", id=name).get("value") == sent[name]


@pytest.mark.parametrize(
    ("name", "good"),
    [
        ("Zoë O’Neill-Łukasiewicz", True),
        ("Ngọc Ánh d'Été", True),
        ("山田太郎", True),
        ("Works & Sons (Ltd.)", True),
        ("Robin 😀 Sample", False),
        ("<script>", False),
        ("12345", False),
        ("", False),
    ],
)
def test_a_name_may_hold_the_letters_of_any_language(customer, name: str, good: bool) -> None:
    customer.walk_to("you")
    customer.send(**(CONTACT | {"name": name}))
    if good:
        assert customer.step == "read-back"
    else:
        assert customer.at.status_code == 422
        assert customer.page.one("p", id="name-wrong") is not None
        assert customer.page.one("input", id="name").get("value") == name
        assert customer.page.one("input", id="email").get("value") == CONTACT["email"]


@pytest.mark.parametrize(
    "phone", ["07700 9OO123", "12", "0770", "call me", "+999 1234567890123456789"]
)
def test_a_telephone_number_that_is_none_is_shown_again_as_typed(customer, phone: str) -> None:
    customer.walk_to("you")
    customer.send(**(CONTACT | {"phone": phone}))
    assert customer.at.status_code == 422
    assert customer.page.one("input", id="phone").get("value") == phone


@pytest.mark.parametrize("email", ["robin", "robin@", "robin@example", "a b@example.com"])
def test_an_address_that_is_none_is_shown_again_as_typed(customer, email: str) -> None:
    customer.walk_to("you")
    customer.send(**(CONTACT | {"email": email}))
    assert customer.at.status_code == 422
    assert customer.page.one("input", id="email").get("value") == email


def test_no_colour_is_asked_for_kindly(customer) -> None:
    customer.walk_to("finish")
    customer.send()
    assert customer.at.status_code == 422
    assert "Choose a colour, or tick “I'd rather decide from a sample”." in customer.errors()


def test_a_colour_of_another_gloss_is_asked_again(customer) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-gloss": "matt", "A-colour": "R9010-G"})
    assert customer.at.status_code == 422


@pytest.mark.parametrize("field", ["system", "gloss", "face", "barrel", "bare", "colour"])
@pytest.mark.parametrize("value", ["", "planted"])
def test_a_choice_of_finish_that_nobody_offered_is_no_accident(customer, field, value) -> None:
    customer.walk_to("finish")
    customer.send(**{"A-colour": "R9005-S", f"A-{field}": value})
    assert customer.at.status_code in (200, 422)
    assert customer.go_to("finish").status_code == 200


def test_a_time_that_nobody_offered_is_asked_again(customer) -> None:
    customer.walk_to("day")
    for slot in ("2031-01-01T00:00Z", "tomorrow", ""):
        customer.go_to("day")
        customer.send(slot=slot)
        assert customer.at.status_code == 422, slot


def test_money_with_a_letter_in_it_is_shown_again(customer) -> None:
    customer.walk_to("comes-off")
    customer.send(trip="1O.50")
    assert customer.at.status_code == 422
    assert customer.page.one("input", id="trip").get("value") == "1O.50"


def test_no_layer_is_asked_for_kindly(customer) -> None:
    customer.walk_to("on-them")
    customer.send(drop=("A-layers",))
    assert customer.at.status_code == 422
    assert customer.page.one("p", id="A-layers-wrong") is not None


def test_an_unconfirmed_caution_keeps_the_order_from_being_booked(customer) -> None:
    customer.walk_to("read-back")
    answer = customer.client.submit(customer.at)
    assert answer.status_code == 422
    customer.at = answer
    assert customer.errors()


@pytest.mark.parametrize("token", ["A" * 26, "x", "%00", "../../etc"])
def test_a_link_that_leads_nowhere_says_so(client, token: str) -> None:
    assert client.get(f"/o/{token}/parts").status_code == 404


def test_a_note_of_several_lines_comes_back_as_it_was_written(customer) -> None:
    customer.walk_to("on-them")
    customer.send(**{"A-note": "One wheel pulls.\r\nIt shakes at 60."})
    customer.go_to("on-them")
    note = customer.page.one("textarea", id="A-note")
    assert "".join(note.itertext()).strip() == "One wheel pulls.\nIt shakes at 60."


@pytest.mark.parametrize("step", ["parts", "on-them", "comes-off", "finish", "day", "you"])
def test_rubbish_in_every_field_of_a_page_is_answered_and_breaks_nothing(
    customer, step: str
) -> None:
    customer.walk_to(step)
    ours = ("csrf_token", "version", "key")
    fields = {n: "\U0001f600\u202e'\"<" for n in customer.fields if n not in ours}
    customer.send(**fields)
    assert customer.at.status_code in (200, 422)
    assert customer.go_to(step).status_code == 200


@pytest.mark.parametrize("step", ["parts", "on-them", "comes-off", "finish", "day", "you"])
def test_what_is_far_too_long_is_not_sent_back_whole(customer, step: str) -> None:
    customer.walk_to(step)
    ours = ("csrf_token", "version", "key")
    customer.send(**{n: "q" * 100_000 for n in customer.fields if n not in ours})
    assert customer.at.status_code in (200, 303, 422)
    assert "q" * 5_000 not in customer.at.text
    assert "q" * 5_000 not in customer.go_to(step).text
