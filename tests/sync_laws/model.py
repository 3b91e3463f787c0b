"""A phone that keeps to the written protocol (webapp/sync/protocol.py), without a network."""

import json
import random
from collections.abc import Sequence
from typing import Any

from sqlite_utils import Database

from tests.builders import Phone
from webapp.store import entries, phones
from webapp.store.entries import Envelope
from webapp.sync import receive
from webapp.sync.protocol import MOST_ENTRIES


class Sender:
    """One phone: what it has written, what the practice acknowledged, and its last receipt."""

    def __init__(self, token: str, device: str):
        self.token = token
        self.writer = Phone(device, exam=None, patient=None)
        self.own: list[Envelope] = []
        self.acknowledged: set[str] = set()
        self.receipt: dict[str, Any] | None = None

    def write(self, text: str) -> str:
        name = self.writer.act("noted", {"about": "exam", "text": text})
        self.own.append(self.writer.written[-1])
        return name

    def copied(self) -> "Sender":
        """The phone restored from a copy of itself: token, journal and counters alike."""
        twin = Sender(self.token, self.writer.device)
        twin.writer = self.writer.copied()
        twin.own, twin.acknowledged = list(self.own), set(self.acknowledged)
        twin.receipt = dict(self.receipt) if self.receipt else None
        return twin

    @property
    def pending(self) -> list[Envelope]:
        return [one for one in self.own if entries.entry_id(one) not in self.acknowledged]

    def push(self, db: Database, batch: Sequence[Envelope], answer_arrives: bool = True) -> dict[str, Any]:
        """Send a batch; what the practice answered, even if the phone never hears it."""
        row = phones.by_token(db, self.token)
        assert row is not None
        text = json.dumps({"protocol": 1, "device": self.writer.device, "entries": list(batch)})
        answer = receive.receive(db, row, text.encode())
        if answer_arrives:
            self._hear(answer)
        return answer

    def _hear(self, answer: dict[str, Any]) -> None:
        before = self.receipt
        if before and before["store_id"] != answer["store_id"]:
            self.acknowledged.clear()
        self.acknowledged |= {result["id"] for result in answer["results"]}
        if before and before["store_id"] == answer["store_id"] and before["device"] == answer["device"]:
            self._send_again_from(answer["through"], before["through"])
        self.receipt = answer
        if answer["clone"]:
            self.writer = Phone(entries.new_device(), exam=None, patient=None)
            self.receipt = answer | {"through": 0, "device": self.writer.device}

    def _send_again_from(self, through: int, before: int) -> None:
        if through < before:
            later = [one for one in self.own if json.loads(one["header"])["seq"] > through]
            self.acknowledged -= {entries.entry_id(one) for one in later}

    def send_all(self, db: Database, rounds: int = 12) -> None:
        """Until nothing is pending, as the phone's loop does; more rounds than that are a standstill."""
        self.push(db, [])
        for _ in range(rounds):
            batch = self.pending[:MOST_ENTRIES]
            if not batch:
                return
            self.push(db, batch)
        raise AssertionError(f"{len(self.pending)} entries are still pending after {rounds} rounds")


def shuffled(batch: Sequence[Envelope], seed: int) -> list[Envelope]:
    """The batch in another order, with some of it twice."""
    chance = random.Random(seed)
    again = [one for one in batch if chance.random() < 0.3]
    mixed = [*batch, *again]
    chance.shuffle(mixed)
    return mixed
