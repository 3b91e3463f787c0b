"""A phone that cannot send gives a copy of its journal; taken in by command or desk it is as if it had been sent."""

import os
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from e2e.desk import Keyboard
from e2e.hands import Hands, shot
from e2e.records import phone_entries, server_entries, wait_sent
from e2e.servers import ROOT, Server
from e2e.test_network import record_a_little
from e2e.test_start import wait_for_list

# What the entries and the lists made from them say; when and by which way they came may differ.
TABLES = {"entries": "id, device, seq, exam, patient, kind, header, body, status, why", "exams": "*"}


def content(instance: Path) -> dict[str, list[tuple[Any, ...]]]:
    database = sqlite3.connect(f"file:{instance / 'gelside.sqlite3'}?mode=ro", uri=True)
    try:
        return {table: sorted(database.execute(f"select {columns} from {table}").fetchall(), key=repr)
                for table, columns in TABLES.items()}
    finally:
        database.close()


@pytest.mark.catalogue(74)
def test_copy_of_the_phone_taken_in_by_command_or_desk_equals_a_push(
    phone: Page, desk: Page, server: Server, phone_link: str, tmp_path: Path
) -> None:
    phone.goto(phone_link)
    wait_for_list(phone)
    by_command, at_the_desk = tmp_path / "by_command", Server(tmp_path / "at_the_desk")
    phone.context.set_offline(True)
    hands = Hands(phone)
    record_a_little(hands)
    hands.leave()
    hands.act("settings")
    with phone.expect_download() as coming:
        hands.tap_words("give me a copy")
    file = tmp_path / coming.value.suggested_filename
    coming.value.save_as(file)
    expect(phone.locator("[data-copied=yes]")).to_contain_text(f"4 entries in {file.name}")
    expect(phone.locator("[data-copied=yes]")).to_be_in_viewport()
    shot(phone, "copy")

    server.stop()
    for instance in (by_command, at_the_desk.instance):
        shutil.copytree(server.instance, instance)
    command = [str(Path(sys.executable).parent / "flask"), "--app", "webapp", "import", str(file)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True,
                          env={**os.environ, "GELSIDE_INSTANCE": str(by_command)})
    assert (done.returncode, done.stdout.count("4 of 4 entries"), done.stdout.count("4 of them new")) == (0, 1, 1), done
    at_the_desk.start()
    try:
        take_in(desk, at_the_desk, file)
    finally:
        at_the_desk.close()
    server.start()
    phone.context.set_offline(False)
    hands.act("send-now")
    wait_sent(phone)
    entries = phone_entries(phone)
    assert server_entries(server, entries[0]["device"]) == entries
    assert content(by_command) == content(at_the_desk.instance) == content(server.instance)


def take_in(desk: Page, server: Server, file: Path) -> None:
    """At the desk: Records, the file, once and once more."""
    Keyboard(desk).sign_in(server)
    for new in (4, 0):
        desk.goto(f"{server.address}/records")
        desk.locator("input[type=file]").set_input_files(file)
        desk.locator("[name=submit]").click()
        told = f"4 of 4 entries of device {file.name.split('-')[2]} are here, {new} of them new"
        expect(desk.locator("body")).to_contain_text(told)

