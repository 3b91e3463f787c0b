"""Every address of the app stands in the list of addresses and roles, and the list holds nothing else."""

from flask import Flask

from webapp.accounts import allowed
from webapp.store import roles


def test_every_address_says_who_may_open_it(app: Flask) -> None:
    endpoints = {rule.endpoint for rule in app.url_map.iter_rules() if not rule.endpoint.endswith(".static")}
    missing = sorted(endpoints - set(allowed.DOORS))
    assert not missing, f"add a line to DOORS in webapp/accounts/allowed.py for: {', '.join(missing)}"
    assert not sorted(set(allowed.DOORS) - endpoints), "these stand in DOORS and are no address any more"


def test_the_list_names_known_roles_only_and_styles_alone_go_without_a_line(app: Flask) -> None:
    for name, door in allowed.DOORS.items():
        assert door.to in (allowed.EVERYONE, allowed.PHONES) or door.to <= set(roles.ROLES), name
        assert not name.endswith(".static")
    for rule in app.url_map.iter_rules():
        if rule.endpoint.endswith(".static"):
            assert rule.arguments == {"filename"} and "GET" in (rule.methods or set())


def test_what_changes_something_is_kept_in_the_audit(app: Flask) -> None:
    for rule in app.url_map.iter_rules():
        if {"POST", "PUT", "DELETE", "PATCH"} & (rule.methods or set()):
            assert allowed.DOORS[rule.endpoint].words, rule.endpoint
