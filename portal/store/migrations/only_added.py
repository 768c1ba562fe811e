"""Triggers that keep a table's rows as they were written: added, never changed, never removed."""

import sqlalchemy as sa

REFUSAL = "rows of this table are only ever added"


def guard(connection: sa.Connection, table: str) -> None:
    """Refuse every UPDATE and DELETE (and on PostgreSQL TRUNCATE) on `table`."""
    if connection.dialect.name == "sqlite":
        for event in ("UPDATE", "DELETE"):
            connection.exec_driver_sql(
                f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
            )
        return
    connection.exec_driver_sql(
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'restrict_violation'; END $$"
    )
    connection.exec_driver_sql(
        f"CREATE TRIGGER {table}_only_added BEFORE UPDATE OR DELETE ON {table} "
        "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
    )
    connection.exec_driver_sql(
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
    )


def release(connection: sa.Connection, table: str) -> None:
    """Remove the triggers of `table`."""
    if connection.dialect.name == "sqlite":
        for event in ("update", "delete"):
            connection.exec_driver_sql(f"DROP TRIGGER {table}_no_{event}")
        return
    connection.exec_driver_sql(f"DROP TRIGGER {table}_only_added ON {table}")
    connection.exec_driver_sql(f"DROP TRIGGER {table}_no_truncate ON {table}")
