"""What every page of a job asks is a statement built once: to build it costs more than to ask."""

from sqlalchemy.sql.selectable import Select

from portal.orders.counter.job_view import job_view
from portal.shop.route import PartStage
from tests.factories import a_job_at


def test_the_view_of_a_job_builds_no_statement(unit, monkeypatch) -> None:
    code = a_job_at(unit, PartStage.BLAST).code
    first = job_view(unit, code)
    built: list[object] = []
    begin = Select.__init__

    def counted(self, *columns, **more) -> None:
        built.append(columns)
        begin(self, *columns, **more)

    monkeypatch.setattr(Select, "__init__", counted)
    assert job_view(unit, code) == first
    assert not built
