"""Whatever phones, networks, copies and restores do: nothing acknowledged is missing, nothing is double, and in
the end the practice holds exactly what was written."""

import secrets
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from tests.sync_laws.model import Sender, shuffled
from webapp.keeping import backup, restore
from webapp.store import chain, devices, phones, strangers
from webapp.store.db import open_database, write

WHICH = st.integers(0, 1000)


class Practice(RuleBasedStateMachine):
    """One server, some phones, a drawer of copies."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "practice.sqlite3"
        self.db = open_database(self.path)
        self.senders: list[Sender] = []
        self.written: set[str] = set()
        self.acknowledged_here: set[str] = set()
        self.copies: list[Path] = []

    @initialize()
    def first_phone(self) -> None:
        self.pair()

    @precondition(lambda self: len(self.senders) < 4)
    @rule()
    def pair(self) -> None:
        token = phones.new_token()
        phones.add(self.db, f"Phone {len(self.senders)}", token)
        self.senders.append(Sender(token, secrets.token_hex(16)))

    @rule(which=WHICH, many=st.integers(1, 4))
    def write_entries(self, which: int, many: int) -> None:
        for number in range(many):
            self.written.add(self.sender(which).write(f"{number}"))

    @rule(which=WHICH, most=st.integers(1, 6), arrives=st.booleans())
    def push(self, which: int, most: int, arrives: bool) -> None:
        sender = self.sender(which)
        self.note(sender.push(self.db, sender.pending[:most], arrives))

    @rule(which=WHICH, seed=st.integers(0, 10**6), arrives=st.booleans())
    def push_anything_in_any_order(self, which: int, seed: int, arrives: bool) -> None:
        sender = self.sender(which)
        start = seed % (len(sender.own) + 1)
        self.note(sender.push(self.db, shuffled(sender.own[start : start + 8], seed), arrives))

    @precondition(lambda self: len(self.senders) < 6)
    @rule(which=WHICH)
    def copy_a_phone(self, which: int) -> None:
        self.senders.append(self.sender(which).copied())

    @rule(which=WHICH)
    def revoke(self, which: int) -> None:
        row = phones.by_token(self.db, self.sender(which).token)
        assert row is not None
        with write(self.db):
            phones.revoke(self.db, row["id"])

    @rule()
    def back_up(self) -> None:
        made = backup.backup(self.db, self.path.parent / "copies" / str(len(self.copies)))
        assert not any(fault.grave for fault in made.faults)
        self.copies.append(made.path)

    @precondition(lambda self: self.copies)
    @rule(which=WHICH)
    def restore(self, which: int) -> None:
        self.db.close()
        restore.restore(self.path, self.copies[which % len(self.copies)])
        self.db = open_database(self.path)
        self.acknowledged_here = self.held()
        for sender in self.senders:
            if phones.by_token(self.db, sender.token) is None:
                assert strangers.asked(self.db, sender.token, sender.writer.device) is not None
                strangers.let_in(self.db, phones.hash_of(sender.token), "Phone from before", None)

    @invariant()
    def nothing_acknowledged_is_missing(self) -> None:
        assert self.acknowledged_here <= self.held()

    @invariant()
    def nothing_is_held_that_nobody_wrote(self) -> None:
        assert self.held() <= self.written

    @invariant()
    def counts_and_hashes_hold(self) -> None:
        assert devices.miscounted(self.db) == []
        assert [fault for fault in chain.verify(self.db) if fault.grave] == []

    def teardown(self) -> None:
        """The faults are over: every phone comes to rest, and nothing is missing."""
        try:
            for _ in range(2):
                for sender in self.senders:
                    sender.send_all(self.db)
            assert self.held() == self.written
            assert self.db.execute("select count(*) from entries").fetchone()[0] == len(self.written)
            self.nothing_acknowledged_is_missing()
            self.counts_and_hashes_hold()
            splits = list(self.db.query("select device, split_at from devices order by device"))
            devices.recount(self.db)
            assert list(self.db.query("select device, split_at from devices order by device")) == splits
        finally:
            self.db.close()
            self.folder.cleanup()

    def sender(self, which: int) -> Sender:
        return self.senders[which % len(self.senders)]

    def note(self, answer: dict[str, object]) -> None:
        """The server answered: from now on these must be there, whether the phone heard it or not."""
        results = answer["results"]
        assert isinstance(results, list)
        self.acknowledged_here |= {result["id"] for result in results}

    def held(self) -> set[str]:
        return {row["id"] for row in self.db.query("select id from entries")}


TestPractice = Practice.TestCase
TestPractice.settings = settings(max_examples=30, stateful_step_count=25, deadline=None, print_blob=True)
TestPractice = pytest.mark.catalogue(40)(pytest.mark.catalogue(41)(pytest.mark.catalogue(42)(TestPractice)))
