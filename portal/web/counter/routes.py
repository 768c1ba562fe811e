"""The addresses of this audience: one table, read at a glance."""

from flask import Blueprint

blueprint = Blueprint("counter", __name__)
