"""The pairing's states under any order of presses, requests and waits: no token without a confirmation in time,
one valid token per pairing, a secret works once."""

import tempfile
from datetime import timedelta
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, invariant, multiple, rule

from tests.pairing.wire import NOON
from webapp.pairing import codes, pairings
from webapp.store import people, phones
from webapp.store.db import open_database

KEY = "the server's key"


class Pairings(RuleBasedStateMachine):
    """One server; desks and phones that press and ask whatever they like."""

    started = Bundle("started")
    waiting = Bundle("waiting")

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.db = open_database(Path(self.folder.name) / "practice.sqlite3")
        people.add(self.db, "RD", "R. Dale", "vet", None)
        self.now = NOON
        self.used: set[str] = set()
        self.confirmed: set[str] = set()
        self.refused: set[str] = set()
        self.tokens: dict[str, list[str]] = {}
        self.in_use: set[str] = set()

    @rule(target=started)
    def start(self) -> tuple[str, object]:
        return pairings.start(self.db, KEY, "RD", self.now), self.now

    @rule(target=waiting, pairing=started, by_code=st.booleans())
    def use(self, pairing: tuple[str, object], by_code: bool) -> object:
        name, made = pairing
        proof = codes.code(KEY, name) if by_code else codes.secret(KEY, name)
        try:
            answer = pairings.use(self.db, proof, "c3" * 16, "Phone", "1", "an address", self.now)
        except (pairings.Refused, pairings.TooMany):
            return multiple()
        assert name not in self.used
        assert self.now - made <= pairings.LASTS  # type: ignore[operator]
        assert answer["pairing"] == name
        self.used.add(name)
        return name, answer["poll"], self.now

    @rule(guess=st.integers(0, 10**6))
    def guess(self, guess: int) -> None:
        try:
            pairings.use(self.db, f"{guess:010d}", "d4" * 16, "", "", "another address", self.now)
        except (pairings.Refused, pairings.TooMany):
            return
        raise AssertionError("a guess was taken")

    @rule(phone=waiting)
    def confirm(self, phone: tuple[str, str, object]) -> None:
        if pairings.confirm(self.db, phone[0], "Named", "RD", self.now):
            assert phone[0] not in self.confirmed | self.refused
            assert self.now - phone[2] <= pairings.LASTS  # type: ignore[operator]
            self.confirmed.add(phone[0])

    @rule(phone=waiting)
    def refuse(self, phone: tuple[str, str, object]) -> None:
        if pairings.refuse(self.db, phone[0], self.now):
            assert phone[0] not in self.confirmed
            self.refused.add(phone[0])

    @rule(phone=waiting, right=st.booleans())
    def collect(self, phone: tuple[str, str, object], right: bool) -> None:
        name, poll, used = phone
        try:
            answer = pairings.collect(self.db, name, poll if right else "guessed", "an address", self.now)
        except (pairings.Refused, pairings.TooMany):
            return
        assert right
        if "token" in answer:
            assert name in self.confirmed
            assert self.now - used <= pairings.LASTS  # type: ignore[operator]
            assert name not in self.in_use
            self.tokens.setdefault(name, []).append(answer["token"])

    @rule(phone=waiting)
    def speak(self, phone: tuple[str, str, object]) -> None:
        for token in self.tokens.get(phone[0], [])[-1:]:
            row = phones.by_token(self.db, token)
            assert row is not None
            phones.heard_from(self.db, row["id"], "c3" * 16)
            self.in_use.add(phone[0])

    @rule(seconds=st.sampled_from([1, 20, 61, 200, 301]))
    def time_passes(self, seconds: int) -> None:
        self.now += timedelta(seconds=seconds)

    @invariant()
    def only_the_newest_token_of_a_confirmed_pairing_opens_anything(self) -> None:
        for tokens in self.tokens.values():
            known = [token for token in tokens if phones.by_token(self.db, token) is not None]
            assert known == tokens[-1:]
        assert len(phones.everyone(self.db)) == len(self.tokens)
        assert set(self.tokens) <= self.confirmed

    @invariant()
    def a_refused_pairing_stays_refused(self) -> None:
        for name in self.refused:
            row = pairings.by_id(self.db, name, self.now)
            assert row is not None
            assert row["state"] == "refused"

    def teardown(self) -> None:
        self.db.close()
        self.folder.cleanup()


TestPairings = Pairings.TestCase
TestPairings.settings = settings(max_examples=40, stateful_step_count=30, deadline=None)
