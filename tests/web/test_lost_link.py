"""A lost slip: the link is sent again to the address on record, and nobody learns who we know."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from portal.shop.states import LetterKind
from portal.store.tables import Customer, Job, Letter
from tests.factories import a_job_in_work
from tests.page import Page, checked_client

pytestmark = pytest.mark.postgres
SLOW_DOWN = 429


@pytest.fixture
def job(unit):
    return a_job_in_work(unit)


def known(unit, job) -> tuple[str, str, str]:
    """Return the code, the link's token and the e-mail address of a job."""
    query = sa.select(Job.code, Job.token, Customer.email).join(Job.customer)
    with unit.read() as session:
        return tuple(session.execute(query.where(Job.id == job.job_id)).one())


def letters(unit) -> list[tuple[str, str]]:
    query = sa.select(Letter.to, Letter.text).where(Letter.kind == LetterKind.STATUS_LINKS)
    with unit.read() as session:
        return [tuple(row) for row in session.execute(query.order_by(Letter.id))]


def ask(client, typed: str):
    return client.submit(client.get("/lost-slip"), known=typed)


def test_code_and_address_have_the_link_sent_and_the_page_never_shows_it(client, unit, job) -> None:
    code, token, email = known(unit, job)
    for typed in (code, f" {code[:4].lower()}-{code[4:].lower()} ", email.upper()):
        before = len(letters(unit))
        answer = ask(client, typed)
        assert answer.status_code == 200
        assert token not in answer.text
        assert email not in answer.text
        (to, text), *_ = letters(unit)[before:]
        assert to == email
        assert f"/J/{token}" in text


def test_the_answer_is_the_same_for_who_is_not_known(client, unit, job) -> None:
    email = known(unit, job)[2]
    ours, strangers = ask(client, email), ask(client, "nobody@example.com")
    assert Page(ours.text).text == Page(strangers.text).text
    assert [to for to, _ in letters(unit)] == [email]


@pytest.mark.parametrize("typed", ["", "Robin", "12345678", "4F7K-2M9X"])
def test_what_is_neither_is_refused_beside_the_field_and_stays(client, unit, typed) -> None:
    answer = ask(client, typed)
    assert answer.status_code == 422
    page = Page(answer.text)
    assert page.one("input", name="known").get("value", "") == typed
    assert page.one("input", name="known").get("aria-invalid") == "true"
    assert not letters(unit)


def test_an_address_gets_three_letters_a_day_whoever_asks(app, unit, job, clock) -> None:
    code, _, email = known(unit, job)
    for n in range(6):
        client = checked_client(app)
        client.environ_base["REMOTE_ADDR"] = f"192.0.2.{n}"
        clock.advance(hours=1)
        ask(client, code if n % 2 else email)
    assert len(letters(unit)) == 3
    clock.set(clock.now() + timedelta(days=1))
    ask(checked_client(app), email)
    assert len(letters(unit)) == 4


def test_who_tries_many_codes_has_to_wait(client, unit, job) -> None:
    answers = [ask(client, f"nobody{n}@example.com").status_code for n in range(9)]
    assert answers == [200] * 8 + [SLOW_DOWN]
    page = Page(ask(client, "nobody@example.com").text)
    assert "Wait" in page.text


def test_a_link_that_ended_is_not_sent(client, unit, job, clock) -> None:
    code = known(unit, job)[0]
    unit.write(
        lambda session: session.execute(
            sa.update(Job).where(Job.id == job.job_id).values(link_until=clock.now())
        )
    )
    assert ask(client, code).status_code == 200
    assert not letters(unit)


def test_start_page_and_a_dead_link_lead_there(client) -> None:
    for path in ("/", "/J/NOSUCHLINK"):
        links = Page(client.get(path).text).all("a", href="/lost-slip")
        assert links, path
