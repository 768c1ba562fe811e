"""The declarative base: one naming convention, one map from Python types to column types."""

import enum
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import DeclarativeBase

from portal.store.types import UtcDateTime


def _values(members: type[enum.Enum]) -> list[str]:
    return [str(member.value) for member in members]


def not_negative(column: str) -> sa.CheckConstraint:
    """Return the rule that a sum of money in minor units is not below zero."""
    return sa.CheckConstraint(f"{column} >= 0", name=f"{column}_not_negative")


class Base(DeclarativeBase):
    """What every table shares."""

    metadata = sa.MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012  # the attribute's name and kind are SQLAlchemy's
        datetime: UtcDateTime(),
        dict[str, Any]: sa.JSON(),
        list[Any]: sa.JSON(),
        bytes: sa.LargeBinary(),
        # VARCHAR with a CHECK, and real enum members back, on both databases
        enum.StrEnum: sa.Enum(
            enum.StrEnum,
            native_enum=False,
            length=24,
            create_constraint=True,
            values_callable=_values,
        ),
    }
