"""Ask us before you book: from any page, with what stands in it, to the counter and back."""

import io

import pytest
import sqlalchemy as sa

from portal.store.tables import Draft, Letter, Photo, Question
from tests.cast import FLOOR, OFFICE, sign_in
from tests.page import checked_client, page_of
from tests.web.test_intake_photos import a_jpeg
from tests.web.walk import CONTACT, WHEELS, Customer

ASKED = {
    "question": "Is 8J x 18 really mine?",
    "name": "Robin Sample",
    "email": "robin@example.com",
}
STEPS = ("parts", "on-them", "comes-off", "finish", "day", "you", "read-back")


def rows(app, table):
    with app.extensions["unit"].read() as session:
        return list(session.scalars(sa.select(table)))


@pytest.fixture
def customer(client) -> Customer:
    return Customer(client)


def leave_to_ask(customer: Customer, **typed):
    """Fill the open page and press "Ask us": the button sends the page's own form elsewhere."""
    page = customer.page
    (button,) = [b for b in page.all("button") if "/ask/from" in b.get("formaction", "")]
    sent = page.fields(customer.forms - 1) | typed
    return customer.follow(customer.client.post(button.get("formaction"), data=sent))


def ask(customer: Customer, **more):
    return customer.send(**ASKED | more)


@pytest.mark.parametrize("step", STEPS)
def test_every_page_leads_to_a_question_and_back_to_itself(customer, app, step: str) -> None:
    customer.walk_to(step)
    answer = leave_to_ask(customer)
    assert answer.status_code == 200
    assert answer.request.path.endswith("/ask")
    assert "Ask us" in customer.page.text
    back = customer.page.one("a", class_="button--quiet").get("href")
    customer.follow(customer.client.get(back))
    assert customer.step == step
    leave_to_ask(customer)
    ask(customer)
    assert customer.at.request.path.endswith("/asked")
    assert "We have your question" in customer.page.text
    customer.follow(customer.client.get(customer.page.all("a", class_="button")[0].get("href")))
    assert customer.step == step
    assert "We have your question" in customer.page.text
    (question,) = rows(app, Question)
    assert question.text == ASKED["question"]


def test_the_landing_page_leads_to_a_question_without_any_parts(client, app) -> None:
    answer = client.submit(client.get("/"), then="ask")
    there = client.get(answer.location)
    assert "We see what you have filled in" not in there.get_data(as_text=True)
    sent = client.submit(there, **ASKED)
    assert sent.location.endswith("/asked")
    (question,) = rows(app, Question)
    assert not question.snapshot["declared"].get("sets")


def test_an_unfinished_page_is_kept_and_told_to_us(customer, app, hand) -> None:
    leave_to_ask(customer, size="19 something", count="3")
    ask(customer)
    (question,) = rows(app, Question)
    seen = page_of(hand.client.get(f"/counter/questions/{question.id}")).text
    assert "19 something" in seen
    customer.follow(customer.client.get(f"/r/{customer.token}"))
    assert customer.page.one("input", id="size").get("value") == "19 something"
    assert customer.page.one("input", id="count").get("value") == "3"


def test_a_page_that_is_good_but_was_not_sent_counts_in_what_we_see(customer, app) -> None:
    leave_to_ask(customer, **WHEELS, count="3")
    ask(customer)
    (question,) = rows(app, Question)
    assert question.snapshot["declared"]["sets"][0]["count"] == 3
    assert question.snapshot["typed"] == []


def test_photos_that_were_chosen_on_the_page_are_kept(customer, app) -> None:
    leave_to_ask(customer, photos=(a_jpeg(), "wheel.jpg"))
    (photo,) = rows(app, Photo)
    assert photo.purpose == "declared"


def test_nothing_typed_is_lost_where_something_is_missing(customer, app) -> None:
    leave_to_ask(customer)
    answer = customer.send(question="Will it fit?", email="robin@", photo=(a_jpeg(), "rim.jpg"))
    assert answer.status_code == 422
    assert len(customer.errors()) == 2
    assert customer.page.one("textarea").text.strip() == "Will it fit?"
    assert customer.page.one("input", id="email").get("value") == "robin@"
    assert len(customer.page.all("img")) == 1
    assert len(customer.page.all(class_="field", data_state="wrong")) == 2
    ask(customer, question="Will it fit?")
    (question,) = rows(app, Question)
    assert question.photo_id is not None


def test_a_photo_can_be_removed_and_what_was_typed_stays(customer, app) -> None:
    leave_to_ask(customer)
    customer.send(question="Will it fit?", photo=(a_jpeg(), "rim.jpg"))
    customer.send(question="Will it fit?", unwanted="1")
    assert rows(app, Photo) == []
    assert customer.page.one("textarea").text.strip() == "Will it fit?"


def test_what_is_no_photo_is_refused_beside_its_field(customer) -> None:
    leave_to_ask(customer)
    answer = ask(customer, photo=(io.BytesIO(b"no photo"), "rim.jpg"))
    assert answer.status_code == 422
    assert any("can't read this file" in one for one in customer.errors())


def test_a_stale_page_keeps_what_was_typed(customer, app) -> None:
    customer.client.delete_cookie("form")
    page = customer.page
    sent = page.fields(customer.forms - 1) | {"rim_text": "8Jx18 ET35", "count": "5"}
    (button,) = [b for b in page.all("button") if "/ask/from" in b.get("formaction", "")]
    first = customer.client.post(button.get("formaction"), data=sent)
    assert first.status_code == 307
    answer = customer.client.post(first.location, data=sent)
    assert answer.status_code == 422
    assert page_of(answer).one("input", id="count").get("value") == "5"


def test_pressing_twice_is_one_question(customer, app) -> None:
    leave_to_ask(customer)
    page = customer.at
    for _ in range(2):
        customer.client.submit(page, **ASKED)
    assert len(rows(app, Question)) == 1


def test_whoever_asks_too_often_is_told_on_the_page(customer) -> None:
    for _ in range(4):
        customer.go_to("ask")
        ask(customer)
    assert customer.at.status_code == 422
    assert "We have 3 questions from you" in customer.page.text
    assert customer.page.one("textarea").text.strip() == ASKED["question"]


def test_a_german_asks_and_is_written_to_in_german(app, client) -> None:
    client.set_cookie("lang", "de")
    customer = Customer(client)
    leave_to_ask(customer)
    ask(customer)
    (letter,) = rows(app, Letter)
    assert letter.subject == "Wir haben Ihre Frage"


def test_the_contact_begins_with_what_was_told_when_asking(customer) -> None:
    customer.walk_to("finish")
    leave_to_ask(customer)
    ask(customer, phone="07700 900123")
    customer.go_to("finish")
    customer.walk_to("you")
    assert customer.page.one("input", id="name").get("value") == "Robin Sample"
    assert customer.page.one("input", id="email").get("value") == "robin@example.com"
    customer.send()
    assert customer.step == "read-back"


def test_the_answer_brings_the_customer_back_to_the_furthest_page(customer, app, hand) -> None:
    customer.walk_to("finish")
    leave_to_ask(customer)
    ask(customer)
    arrivals = hand.client.get("/counter/today")
    assert "Questions to answer" in page_of(arrivals).text
    assert ASKED["question"] in page_of(arrivals).text
    (question,) = rows(app, Question)
    there = hand.client.get(f"/counter/questions/{question.id}")
    seen = page_of(there)
    assert "4 × 18 × 8 wheels" in seen.text
    assert "Finish" in seen.text
    assert "£" in seen.text
    sent = hand.client.submit(there, form=1, answer="Yes.\nIt is on the spoke.")
    assert sent.status_code == 303
    letter = rows(app, Letter)[-1]
    assert letter.subject == "The answer to your question"
    token = rows(app, Draft)[0].token
    assert f"/r/{token}" in letter.text
    customer.follow(customer.client.get(f"/r/{token}"))
    assert customer.step == "finish"
    fold = customer.page.one("details", class_="flash")
    assert fold.get("open") is not None
    assert "It is on the spoke." in "".join(fold.itertext())
    assert "Questions to answer" not in page_of(hand.client.get("/counter/today")).text
    assert "Answered lately" in page_of(hand.client.get("/counter/questions")).text
    again = page_of(hand.client.get(f"/counter/questions/{question.id}")).text
    assert "Answered by letter" in again


def test_an_answer_without_words_is_asked_for_beside_its_field(customer, app, hand) -> None:
    leave_to_ask(customer)
    ask(customer)
    there = hand.client.get("/counter/questions/1")
    answer = hand.client.submit(there, form=1, answer="  ")
    assert answer.status_code == 422
    assert "Enter your answer." in page_of(answer).text
    closed = hand.client.submit(there, form=1, answer="", how="close")
    assert closed.status_code == 303
    assert len(rows(app, Letter)) == 1


def test_the_office_deletes_what_a_customer_asks_it_to(customer, app, hand) -> None:
    leave_to_ask(customer)
    ask(customer)
    path = "/counter/questions/1"
    assert "wants this deleted" not in page_of(hand.client.get(path)).text
    office = sign_in(app, checked_client(app), OFFICE)
    there = office.get(path)
    assert office.submit(there, form=2).status_code == 303
    assert rows(app, Question) == rows(app, Draft) == rows(app, Letter) == []
    assert office.get(path).status_code == 404


def test_the_floor_reads_no_questions(app) -> None:
    floor = sign_in(app, checked_client(app), FLOOR)
    for path in ("/counter/questions", "/counter/questions/1"):
        assert floor.get(path).status_code == 403


def test_a_question_is_seen_with_the_job_that_it_became(customer, app, hand) -> None:
    customer.walk_to("read-back")
    leave_to_ask(customer)
    ask(customer)
    customer.go_to("read-back")
    booked = customer.book()
    assert booked.status_code == 303
    (question,) = rows(app, Question)
    seen = page_of(hand.client.get("/counter/questions/1"))
    code = seen.one("a", class_="mono").get("href")
    assert ASKED["question"] in page_of(hand.client.get(code)).text
    assert question.job_id is not None


def test_a_link_that_ended_says_when_and_offers_a_new_order(customer, clock, app) -> None:
    customer.walk_to("on-them")
    token = customer.token
    clock.advance(days=7, seconds=1)
    for _ in range(2):
        for path in (f"/r/{token}", f"/o/{token}/parts"):
            answer = customer.client.get(path)
            assert answer.status_code == 410
            page = page_of(answer)
            assert "This order ended on Monday 8 June" in page.text
            assert "minutes" in page.text
        from portal.orders.office.retention import sweep

        sweep(app.extensions["unit"])
    customer.follow(customer.client.submit(answer))
    assert customer.step == "parts"
    assert customer.token != token
    assert customer.client.get(f"/r/{'A' * 26}").status_code == 404


def test_the_links_of_a_question_are_in_no_log(customer, app, caplog) -> None:
    with caplog.at_level("DEBUG"):
        leave_to_ask(customer)
        ask(customer)
    assert customer.token not in caplog.text
    assert CONTACT["email"] not in caplog.text


@pytest.mark.parametrize("page", [*STEPS, "", "nowhere"])
@pytest.mark.parametrize("key", ["", "A", "new", "Ä"])
def test_a_button_of_a_page_that_is_not_open_leads_to_the_question_too(
    customer, page: str, key: str
) -> None:
    token = {"csrf_token": customer.page.fields(0)["csrf_token"]}
    answer = customer.client.post(f"/o/{customer.token}/ask/from?page={page}&key={key}", data=token)
    assert answer.status_code == 303
    assert customer.client.get(answer.location).status_code == 200


def test_a_refused_order_can_be_asked_about(customer, app, hand) -> None:
    customer.walk_to("on-them")
    customer.send(**{"A-damage": ["crack"]})
    leave_to_ask(customer)
    ask(customer)
    assert customer.at.status_code == 200
    seen = hand.client.get("/counter/questions/1")
    assert "crack" in page_of(seen).text.lower()
