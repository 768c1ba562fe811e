"""Triggers that keep a table's rows as they were written: added, never changed, never removed.

What a person typed beside an entry may be emptied, and nothing else: who is erased is named there.
"""

import sqlalchemy as sa

REFUSAL = "rows of this table are only ever added"
# table: the text that may be emptied, and the statement of the house that may name somebody
TYPED = {"move": ("note", "says"), "ledger_entry": ("reason", ""), "part_check": ("note", "")}


def guard(connection: sa.Connection, table: str) -> None:
    """Refuse every UPDATE and DELETE (and on PostgreSQL TRUNCATE) on `table`.

    An UPDATE that does nothing but empty what was typed (`TYPED`) is let through.
    """
    if connection.dialect.name == "sqlite":
        for event, when in (("UPDATE", _unless_emptied(connection, table)), ("DELETE", "")):
            connection.exec_driver_sql(
                f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} {when}"
                f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
            )
        return
    typed, says = TYPED.get(table, ("", ""))
    connection.exec_driver_sql(
        "CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN "
        # its arguments are the columns that may be emptied
        "IF TG_OP = 'UPDATE' AND TG_NARGS = 2 AND TG_ARGV[0] <> '' "
        "AND to_jsonb(NEW) <> to_jsonb(OLD) "
        "AND to_jsonb(NEW) - TG_ARGV[0] - TG_ARGV[1] = to_jsonb(OLD) - TG_ARGV[0] - TG_ARGV[1] "
        "AND to_jsonb(NEW) ->> TG_ARGV[0] IN ('', to_jsonb(OLD) ->> TG_ARGV[0]) "
        "AND (to_jsonb(NEW) ->> TG_ARGV[1] IS NULL "
        "OR to_jsonb(NEW) ->> TG_ARGV[1] = to_jsonb(OLD) ->> TG_ARGV[1]) "
        "THEN RETURN NEW; END IF; "
        f"RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'restrict_violation'; END $$"
    )
    connection.exec_driver_sql(
        f"CREATE TRIGGER {table}_only_added BEFORE UPDATE OR DELETE ON {table} "
        f"FOR EACH ROW EXECUTE FUNCTION refuse_change('{typed}', '{says}')"
    )
    connection.exec_driver_sql(
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
    )


def _unless_emptied(connection: sa.Connection, table: str) -> str:
    """Return the condition under which SQLite refuses a change of a row."""
    if table not in TYPED:
        return ""
    typed = TYPED[table]
    columns = [one["name"] for one in sa.inspect(connection).get_columns(table)]
    same = [f'NEW."{name}" IS OLD."{name}"' for name in columns if name not in typed]
    same.append(f"(NEW.{typed[0]} = '' OR NEW.{typed[0]} IS OLD.{typed[0]})")
    changed = f"NEW.{typed[0]} IS NOT OLD.{typed[0]}"
    if typed[1] in columns:
        changed += f" OR NEW.{typed[1]} IS NOT OLD.{typed[1]}"
        same.append(f"(NEW.{typed[1]} IS NULL OR NEW.{typed[1]} IS OLD.{typed[1]})")
    return f"WHEN NOT ({' AND '.join([*same, f'({changed})'])}) "


def release(connection: sa.Connection, table: str) -> None:
    """Remove the triggers of `table`."""
    if connection.dialect.name == "sqlite":
        for event in ("update", "delete"):
            connection.exec_driver_sql(f"DROP TRIGGER {table}_no_{event}")
        return
    connection.exec_driver_sql(f"DROP TRIGGER {table}_only_added ON {table}")
    connection.exec_driver_sql(f"DROP TRIGGER {table}_no_truncate ON {table}")
