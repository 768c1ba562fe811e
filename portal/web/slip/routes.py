"""The addresses of this audience: one table, read at a glance."""

from flask import Blueprint

blueprint = Blueprint("slip", __name__)
