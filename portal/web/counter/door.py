"""Addresses for signing in and out, the second factor, and the lock of a shared device."""

from flask import Blueprint

from portal.web.counter import lock, my_devices, my_sign_in, sign_in

blueprint = Blueprint("door", __name__)

for rule, name, view in (
    ("/counter/sign-in", "sign_in", sign_in.sign_in),
    ("/counter/sign-in/code", "code", sign_in.code),
    ("/counter/locked", "locked", lock.locked),
    ("/counter/me", "me", my_sign_in.me),
    ("/counter/me/devices", "devices", my_devices.devices),
    ("/counter/me/second-factor", "second_factor", my_sign_in.second_factor_page),
):
    blueprint.add_url_rule(rule, name, view, methods=["GET", "POST"])
blueprint.add_url_rule("/counter/held/<key>", "held", sign_in.held, methods=["GET"])
for rule, name, view in (
    ("/counter/sign-out", "sign_out", sign_in.sign_out),
    ("/counter/lock", "lock", lock.lock_now),
    ("/counter/me/second-factor/off", "second_factor_off", my_sign_in.second_factor_off),
    ("/counter/me/recovery-codes", "recovery_codes", my_sign_in.new_recovery_codes),
):
    blueprint.add_url_rule(rule, name, view, methods=["POST"])
