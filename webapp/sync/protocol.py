"""The protocol between a phone and its practice, version 1. This text is the written protocol.

**Entries.** A phone writes immutable entries (webapp/store/entries.py): two canonical JSON texts, `header` and
`body`; the id is the SHA-256 of the header's bytes. `device`, `seq` and `prev` chain what one device wrote. The
id is the identity; (device, seq) is a cursor only. Nobody changes or deletes an entry.

**Proof of a phone.** Every request but /api/ping and pairing carries `Authorization: Bearer <token>`. No cookie
is looked at. `X-Gelside-Report: {"unsent", "oldest", "app", "rules", "store"}` may come along: what the phone
says of itself (`store` names its storage, so that a cleared one is noticed); it never decides anything.

**Push.** `POST /api/journal` `{"protocol": 1, "device", "entries": [{"header", "body"}, ...]}`, at most 1000
entries and 512 kB of texts. Everything in it is stored in one transaction and answered after the disk has it:
`{"protocol", "store_id", "device", "results": [{"id", "status"}], "through", "held", "revoked", "clone"}`.
- status: `stored`, `duplicate`, `stored_unreadable` (unknown version or kind, a body that does not fit: kept,
  shown as unread), `stored_out_of_chain` (does not follow what is held). All four mean: on disk. There is no
  refusal of one entry.
- `held` entries of `device` are stored, `through` of them from 1 on without a break. For a copied phone the
  chain is followed by its links from the newest entry sent, so another phone's entries never count as this
  one's.
- Only a parsed answer marks entries as sent. If `store_id` changed, the phone sends everything again; if
  `through` is smaller than it was, it sends again from there: an entry that is held already costs one
  `duplicate`.
- A request is given up after 20 seconds; the next batch is then half as large. After any 413 it is, too; an entry
  that is too large alone is left behind and told to the person, and those behind it go.
- 4xx and 5xx are `{"error": {"code", "message"}}` and mean: nothing of it was stored. 400 malformed, 401
  unknown_phone, 413 too_large, 415 (compressed), 429 and 503 with Retry-After, 507 disk_full.
- Old phones always sync: this server takes every protocol version ever released, and envelopes of any `v`.

**A copied phone.** Two phones restored from one copy count on from the same place. Both branches are kept and
folded. Whoever pushes on the branch that came later is answered `"clone": true` and `"branch"`, the name it
goes by in the desk's listings; that phone says so and writes on under a new random device id.

**Sealed push.** `POST /api/journal/sealed` `{"protocol": 1, "device", "wrapped_key", "sealed": [{"id", "iv",
"data"}]}` for a phone whose PIN is forgotten: see webapp/sync/sealed.py. Answered like a push; `not_opened`
marks what could not be opened and was not stored.

**Pull.** `GET /api/journal?since=N&scope=S&limit=200` gives what arrived after N and belongs to today's list, or to
the visits of the phone's own person on the next three days: those animals' records, visits and merges (the owner
stays at the desk), and all entries of their exams, those of records merged with theirs included: `{"protocol",
"store_id", "scope", "entries": [{"arrival", "header", "body"}], "next", "more"}`. What says that a visit left the list
(moved, cancelled, struck) comes too. The last page names in `"practice"` the mark of what `GET /api/practice` would
tell (its `"mark"`): who has that already asks no more, so a round in which nothing is new is one request. The scope
begins with the practice's day ("day:2026-11-24:"), by which phones count how long they keep what is sent, and names the
animals, their visits and the exams moved between animals. Arrival numbers hold within one `store_id` and one
scope; when either changed, start from 0. With `since=0&ahead=1` a first page that is not all holds
`"ahead"`, too: the list's records, visits and merges, all or none, so that the list can be shown before the exams of
the past are here; they come again in their place. Answers go compressed (gzip) to who takes them so.

**Revoked.** A revoked phone may push entries and photos (`"revoked": true` in every answer) and read nothing
(403 revoked). It locks, hands over what it has, and clears itself only when the receipt covers all of it.

**Restored.** A restored store has a new `store_id`; phones send everything again, and it keeps what it lacks.
Phones it knows may push at once and read when the desk has approved them (403 to_approve). A phone it does not
know (paired after the copy) gets 401 with `number`, six digits that the desk compares before it lets the phone
in; the phone keeps everything meanwhile.

**Pairing** is webapp/pairing/api.py; **photos and clips** go by their own way after the text,
webapp/photos/routes.py.
"""

PROTOCOL = 1
MOST_ENTRIES = 1000
PAGE = 200  # entries of a pull that names no limit
MOST_BYTES = 512 * 1024  # of headers and bodies together, as UTF-8
