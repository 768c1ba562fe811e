"""One field takes everything: links, codes, tags, names, telephone numbers, colours."""

import pytest
import sqlalchemy as sa

from portal.orders.counter import tags
from portal.orders.kernel.job_search import Meant, find, what_is
from portal.shop.codes import shown
from portal.store.engine import make_engine
from portal.store.tables import Job
from tests.factories import a_booked_job, a_job_at, a_job_in_work
from tests.readers import english
from tests.rows import a_job_row

pytestmark = pytest.mark.postgres


@pytest.mark.parametrize(
    "written",
    [
        "HTTPS://WORKS.EXAMPLE/J/{token}",
        "https://works.example/j/{lower}",
        "HTTPSÖ--WORKS.EXAMPLE-J-{swapped}",
        "{code}",
        "{shown}",
        "{lowercode}",
        "900123",
        "07700",
        "07700 90",
        "07700 900123",
        "+44 7700 900123",
        "robin",
        "SAMPLE",
        "brown est",
        "robin estate",
        "jet black",
        "9005",
    ],
)
def test_a_job_is_found_by_anything_that_is_known_of_it(unit, written: str) -> None:
    job = a_booked_job(unit)
    typed = written.format(
        token=job.token,
        lower=job.token.lower(),
        swapped=job.token.translate(str.maketrans("YZ", "ZY")),
        code=job.code,
        shown=shown(job.code),
        lowercode=job.code.lower(),
    )
    meaning = what_is(unit, typed)
    assert (meaning.means, meaning.code) == (Meant.JOB, job.code)


def test_a_part_of_the_code_is_enough(unit) -> None:
    job = a_booked_job(unit)
    assert [hit.code for hit in find(unit, job.code[1:6])] == [job.code]
    assert [hit.code for hit in find(unit, shown(job.code)[:7])] == [job.code]


def test_a_tag_leads_to_the_part_that_wears_it(unit) -> None:
    job = a_job_in_work(unit)
    meaning = what_is(unit, "103")
    assert (meaning.means, meaning.code, meaning.part_number) == (Meant.PART, job.code, 3)


def test_a_paper_tag_leads_to_its_part(unit) -> None:
    job = a_booked_job(unit)
    meaning = what_is(unit, f"{job.code}-2")
    assert (meaning.means, meaning.part_number) == (Meant.PART, 2)


def test_a_tag_that_nobody_wears_is_called_free(unit) -> None:
    assert what_is(unit, "140").means is Meant.FREE_TAG
    tags.retire_tag(unit, "140")
    assert "is out of use" in english(what_is(unit, "140").says)


def test_a_mistyped_code_is_named_as_mistyped_not_as_unknown(unit) -> None:
    job = a_booked_job(unit)
    wrong = job.code[:-1] + ("4" if job.code[-1] != "4" else "7")
    meaning = what_is(unit, wrong)
    assert meaning.means is Meant.MISTYPED
    assert "There is a typing mistake in" in english(meaning.says)


def test_a_good_code_of_no_job_is_unknown_and_not_called_mistyped(unit) -> None:
    from portal.shop.codes import new_code
    from tests.conftest import chance

    meaning = what_is(unit, new_code(chance(77)))
    assert meaning.means is Meant.UNKNOWN
    assert "No job has the code" in english(meaning.says)


def test_a_number_plate_that_looks_like_a_code_is_still_found(unit) -> None:
    job = a_booked_job(unit, vehicle="Van FN64 7KLX")
    assert what_is(unit, "FN64 7KLX").code == job.code


def test_a_link_of_another_works_is_named(unit) -> None:
    meaning = what_is(unit, "https://elsewhere.example/J/" + "A" * 26)
    assert meaning.means is Meant.UNKNOWN
    assert "This link is not ours." in english(meaning.says)


def test_several_matches_are_listed_open_ones_first(unit, clock) -> None:
    from portal.orders.counter.hand_back import HandBack, PaymentMethod, hand_back, make_ready
    from portal.shop.route import PartStage
    from tests.factories import a_token, last_event_id

    home = a_job_at(unit, PartStage.DONE)
    make_ready(unit, home.job_id, who=None)
    with unit.read() as session:
        owed = session.get(Job, home.job_id).total_minor
    hand_back(
        unit,
        home.job_id,
        HandBack(home.pickup_code, (1, 2, 3, 4), (), owed, PaymentMethod.CASH),
        expected_event_id=last_event_id(unit, home),
        once_token=a_token(),
        who=None,
    )
    here = a_booked_job(unit)
    last = a_booked_job(unit)
    meaning = what_is(unit, "robin")
    assert meaning.means is Meant.SEVERAL
    assert [hit.code for hit in meaning.hits] == [last.code, here.code, home.code]


def test_accents_and_case_do_not_matter(unit) -> None:
    job = a_booked_job(unit, name="Zoë Ångström")
    assert what_is(unit, "zoe angstrom").code == job.code


@pytest.mark.parametrize("typed", ["%", "_", "a", "%%%", "__", "\\", "'; --"])
def test_signs_of_the_database_find_nothing_by_themselves(unit, typed: str) -> None:
    a_booked_job(unit)
    assert what_is(unit, typed).hits == ()


@pytest.mark.parametrize("typed", ["", "   ", "\r\n"])
def test_an_empty_scan_means_nothing(unit, typed: str) -> None:
    assert what_is(unit, typed).means is Meant.NOTHING


def keep_house(database: str) -> None:
    """Do at once what PostgreSQL's own housekeeper does within a minute of so many rows."""
    if database.startswith("postgresql"):
        engine = make_engine(database).execution_options(isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            # the test cluster commits without waiting for the disk: first let it catch up
            connection.execute(sa.text("CHECKPOINT"))
            connection.execute(sa.text("VACUUM ANALYZE job"))
        engine.dispose()


def test_the_one_is_found_among_a_hundred_thousand_jobs(unit, database, clock) -> None:
    def fill(session) -> None:
        seed = a_job_row(session, clock.now()).id
        numbers = sa.select(sa.literal(0).label("n")).cte("numbers", recursive=True)
        numbers = numbers.union_all(sa.select(numbers.c.n + 1).where(numbers.c.n < 99_999))
        n = numbers.c.n
        code = sa.literal("X") + sa.cast(n + 1_000_000, sa.String)
        name = sa.literal("name") + sa.cast(n * 7919 % 99_991, sa.String)
        phone = sa.literal("+4416329") + sa.cast(n + 100_000, sa.String)
        state = sa.case((n % 300 == 0, "in_work"), else_="handed_back")
        own = {
            "code": code,
            "token": sa.literal("T") + code,
            "name": name,
            "phone": phone,
            "state": sa.type_coerce(state, sa.String),
            "search": sa.func.lower(code)
            + " "
            + name
            + " sample "
            + phone
            + " brown estate ember bronze",
        }
        table = Job.__table__
        columns = [c for c in table.c if c.key != "id"]
        row = sa.select(*(own.get(c.key, c).label(c.key) for c in columns))
        filled = row.select_from(table.join(numbers, sa.true())).where(table.c.id == seed)
        session.execute(sa.insert(table).from_select([c.key for c in columns], filled))

    unit.write(fill)
    keep_house(database)
    # how long it takes is measured elsewhere; here, that the one among many is found
    for typed, found in (("name12345", True), ("+4416329104711", True), ("zzzz no such", False)):
        seen = what_is(unit, typed)
        assert (seen.means in (Meant.JOB, Meant.SEVERAL)) is found, typed
