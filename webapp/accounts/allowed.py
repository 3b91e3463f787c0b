"""Which address is open to whom: one line per address of the app. What is not listed is open to nobody.

A new route needs one line here, under its endpoint's name: who may open it, and in words what was done, for the audit
("" where nothing needs to be kept: styles, waiting). tests/house/test_routes.py fails until the line is there.
Whoever is not signed in is sent to the sign-in page; views need no check of their own.
"""

from typing import NamedTuple

from webapp.store import roles

Roles = frozenset[str]

# Signed in or not: the sign-in page, the phone's app, what styles a page.
EVERYONE: Roles = frozenset(["everyone"])
# A phone that proves itself by its bearer token, or by a code of the desk: see webapp/sync/bearer.py, webapp/pairing.
PHONES: Roles = frozenset(["phones"])

ANYONE_HERE: Roles = frozenset(roles.ROLES)
READ: Roles = frozenset(["sonographer", "assistant", "reviewer", "reader"])
RECORD: Roles = frozenset(["sonographer", "assistant", "reviewer"])  # animals, visits, requests, files from phones
WRITE: Roles = frozenset(["sonographer", "reviewer"])  # what an exam says
SIGN: Roles = frozenset(["reviewer"])
RUN: Roles = frozenset([roles.ADMIN])  # people, phones, limits, the audit


class Door(NamedTuple):
    """Who may open an address, and what opening it is called in the audit."""

    to: Roles
    words: str = ""


DOORS = {
    "accounts.sign_in": Door(EVERYONE, "signed in"),
    "accounts.sign_out": Door(ANYONE_HERE, "signed out"),
    "account.page": Door(ANYONE_HERE),
    "account.password": Door(ANYONE_HERE, "changed the own password"),
    "account.end": Door(ANYONE_HERE, "ended an own session"),
    "account.still_here": Door(ANYONE_HERE),
    "ways.page": Door(ANYONE_HERE, "looked at the own ways, or changed them"),
    "people.page": Door(RUN, "looked at the people"),
    "people.person_page": Door(RUN, "looked at a person"),
    "people.add": Door(RUN, "added a person"),
    "people.change": Door(RUN, "changed a person's name or roles"),
    "people.new_password": Door(RUN, "gave a person a new password"),
    "people.stop": Door(RUN, "stopped a person's sign-in"),
    "people.end": Door(RUN, "ended a person's sessions"),
    "animals.animal_page": Door(READ, "looked at an animal"),
    "animals.edit_page": Door(RECORD, "changed an animal's record"),
    "animals.list_page": Door(READ, "looked at the animals"),
    "animals.merge_page": Door(RECORD, "looked at two records, or merged them"),
    "animals.new_page": Door(RECORD, "made an animal's record"),
    "animals.part": Door(RECORD, "took a merge back"),
    "animals.settle": Door(RECORD, "settled what two people recorded of an animal"),
    "asking.ask": Door(WRITE, "asked the sonographer about an exam"),
    "asking.withdraw": Door(WRITE, "withdrew a question about an exam"),
    "audit.page": Door(RUN, "looked at the audit"),
    "beside.page": Door(READ, "set two exams of an animal side by side"),
    "board.next_exam": Door(READ),
    "board.page": Door(READ, "looked at the day board"),
    "changing.add": Door(RUN, "added a limit"),
    "changing.add_entry": Door(SIGN | RUN, "put a finding before the list of whom to tell"),
    "changing.again": Door(RUN, "took earlier limits again"),
    "changing.entry_back": Door(SIGN | RUN, "took an own entry back from the list of whom to tell"),
    "changing.grade": Door(SIGN | RUN, "changed a grade"),
    "changing.switch": Door(RUN, "switched limits on or off"),
    "changing.take_back": Door(RUN, "took a limit back"),
    "changing.threshold": Door(RUN, "changed a threshold"),
    "clips.words": Door(WRITE, "wrote down what a clip says"),
    "dicom.file_page": Door(WRITE, "looked at a DICOM file"),
    "dicom.keep": Door(WRITE, "kept a still of a DICOM file"),
    "dicom.picture": Door(WRITE),
    "dicom.send_page": Door(WRITE, "sent a DICOM file"),
    "dicom.take": Door(WRITE, "took a number of a DICOM report"),
    "exchange.animals_csv": Door(RECORD, "took the animals as a file"),
    "exchange.exams_csv": Door(READ, "took the exams as a file"),
    "exchange.journal_file": Door(RECORD, "took an animal's journal as a file"),
    "exchange.page": Door(RECORD),
    "exchange.patient_file": Door(RECORD, "took an animal as a file"),
    "exchange.patients_file": Door(RECORD, "took the animals as a file"),
    "exchange.readings_csv": Door(READ, "took readings as a file"),
    "exchange.rechecks": Door(READ, "took re-checks as a calendar"),
    "exchange.request_file": Door(RECORD, "took a request as a file"),
    "exchange.visits_csv": Door(RECORD, "took a day's visits as a file"),
    "exam_files.dicom": Door(READ, "took a report as a DICOM structured report"),
    "exam_files.fhir": Door(READ, "took a report as a FHIR document"),
    "healthy.count": Door(SIGN, "left a value out of the own reference, or took it in again"),
    "healthy.exam_page": Door(READ, "looked whether an exam is of a healthy animal"),
    "healthy.mark": Door(SIGN, "marked an exam as of a healthy animal"),
    "healthy.unmark": Door(SIGN, "took back the mark of a healthy animal"),
    "imports.job_page": Door(RECORD, "looked at a file to take in"),
    "imports.progress": Door(RECORD),
    "imports.take": Door(RECORD, "took in animals or visits from a file"),
    "imports.upload_page": Door(RECORD, "sent a file to take in"),
    "health.page": Door(EVERYONE),
    "issued.page": Door(READ, "read a report"),
    "issued.pdf": Door(READ, "read a report as PDF"),
    "issued.plain": Door(READ, "read a report as text"),
    "issued.preliminary": Door(READ, "read a preliminary report"),
    "owner_page.form_page": Door(SIGN, "looked at the page for the owner"),
    "owner_page.make": Door(SIGN, "made a page for the owner"),
    "owner_page.off": Door(SIGN, "switched a page for the owner off"),
    "owner_page.page": Door(READ, "read a page for the owner"),
    "owner_page.pdf": Door(READ, "read a page for the owner as PDF"),
    "owner_page.plain": Door(READ, "read a page for the owner as text"),
    "sending.page": Door(RECORD, "looked at how to send a report"),
    "sending.draft": Door(RECORD, "took a report as a draft of an e-mail"),
    "sending.sent": Door(RECORD, "recorded to whom a report was sent"),
    "keeping.page": Door(RECORD | RUN, "looked at the records"),
    "keeping.take": Door(RECORD | RUN, "took in a journal file"),
    "learned.page": Door(READ | RUN, "looked at the learned spread"),
    "learning.page": Door(READ | RUN, "looked at the figures for learning"),
    "learning.table_csv": Door(READ, "took figures for learning as a file"),
    "own_reference.group_csv": Door(READ, "took values of healthy animals as a file"),
    "own_reference.group_page": Door(READ | RUN, "looked at values of healthy animals"),
    "own_reference.make_row": Door(RUN, "made own limits a row of the register"),
    "own_reference.page": Door(READ | RUN, "looked at the own reference"),
    "pairing.approve": Door(RUN, "let a phone read again"),
    "pairing.confirm": Door(RUN, "confirmed a phone"),
    "pairing.let_in": Door(RUN, "let in a phone after a restore"),
    "pairing.pair_page": Door(RUN, "looked at a pairing"),
    "pairing.pair_state": Door(RUN),
    "pairing.phones_page": Door(RUN, "looked at the phones"),
    "pairing.refuse": Door(RUN, "refused a phone"),
    "pairing.rename": Door(RUN, "renamed a phone"),
    "pairing.revoke": Door(RUN, "revoked a phone"),
    "pairing.send_away": Door(RUN, "took an unknown phone off the list"),
    "pairing.settings": Door(RUN, "changed the settings of all phones"),
    "pairing.start": Door(RUN, "started a pairing"),
    "pairing_api.pair": Door(PHONES, "used a pairing code"),
    "pairing_api.wait": Door(PHONES),
    "phone.built": Door(EVERYONE),
    "phone.page": Door(EVERYONE),
    "phone.service_worker": Door(EVERYONE),
    "photos.shown": Door(READ, "looked at a photo"),
    "photos_api.photo": Door(PHONES, "sent a photo"),
    "procedures.page": Door(WRITE, "looked at an exam's procedures, or recorded one"),
    "procedures.watch": Door(WRITE, "recorded what was seen after a procedure"),
    "register.csv_file": Door(READ | RUN, "took the limits as a file"),
    "register.grades_page": Door(READ | RUN, "looked at the grades"),
    "register.history_page": Door(READ | RUN, "looked at the changes of limits"),
    "register.own_page": Door(READ | RUN, "looked at the limits"),
    "register.rows_page": Door(READ | RUN, "looked at the limits"),
    "register.sets_page": Door(READ | RUN, "looked at the limits"),
    "register.thresholds_page": Door(READ | RUN, "looked at the limits"),
    "review.addend": Door(SIGN, "signed an addendum"),
    "review.draft": Door(WRITE, "saved a draft"),
    "review.exam_page": Door(READ, "read an exam"),
    "review.icon": Door(EVERYONE),
    "review.queue_page": Door(READ, "looked at the queue"),
    "review.settle": Door(WRITE, "settled what two people recorded"),
    "review.sign": Door(SIGN, "signed an exam"),
    "stills.distance_of": Door(WRITE),
    "stills.still_page": Door(WRITE, "looked at a still, or measured on it"),
    "second_reading.page": Door(SIGN, "looked at an exam for a second read, or gave one"),
    "striking.strike": Door(RECORD, "took back what was recorded beside an exam"),
    "sync.ping": Door(EVERYONE),
    "sync.practice": Door(PHONES),
    "sync.pull": Door(PHONES, "read entries"),
    "sync.push": Door(PHONES, "sent entries"),
    "sync.push_sealed": Door(PHONES, "sent sealed entries"),
    "telling.make": Door(WRITE, "made a preliminary report"),
    "telling.page": Door(RECORD, "looked at who was told of an exam, or recorded it"),
    "tls.authority": Door(EVERYONE),
    "visits.day_page": Door(READ, "looked at the visits"),
    "visits.do": Door(RECORD, "ordered, assigned or cancelled a visit"),
    "visits.edit_page": Door(RECORD, "changed a visit"),
    "visits.new_page": Door(RECORD, "planned a visit"),
    "visits.remove": Door(RECORD, "took off a visit planned by mistake"),
    "visits.settle": Door(RECORD, "settled what two people recorded of a visit"),
    "visits.sheet_page": Door(READ, "printed a sheet of paper for a visit"),
    "visits.visit_page": Door(READ, "looked at a visit"),
    "wrong_animal.exam_page": Door(RECORD, "looked whose exam it is, or gave it to another animal"),
    "wrong_animal.make_record": Door(RECORD, "made a walk-in's record"),
}
STYLES = Door(EVERYONE)


def door(endpoint: str) -> Door | None:
    """The door of an endpoint; None for one that nobody put on the list. Styles and scripts are everyone's."""
    return STYLES if endpoint.endswith(".static") else DOORS.get(endpoint)


def may(held: tuple[str, ...], endpoint: str) -> bool:
    """Whether someone with these roles may open the endpoint's address."""
    known = door(endpoint)
    return known is not None and (known.to == EVERYONE or not known.to.isdisjoint(held))


def needed(endpoint: str) -> str:
    """The roles that open it, in words."""
    known = door(endpoint)
    return " or ".join(role for role in roles.ROLES if known is not None and role in known.to)
