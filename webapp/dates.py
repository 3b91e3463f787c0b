"""Days and moments as people write them, for the desk (short) and the report (in full)."""

from datetime import datetime

LONG = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
]
SHORT = [name[:3] for name in LONG]
TYPED = ("%Y-%m-%d", "%d.%m.%Y", "%d %b %Y", "%d %B %Y")


def typed_day(text: str) -> str:
    """A day as people type it ("1 Dec 2026", "1.12.2026", "2026-12-01") as "2026-12-01". Raises ValueError with
    advice; nothing that could be read both ways is guessed."""
    for form in TYPED:
        try:
            return datetime.strptime(" ".join(text.split()), form).date().isoformat()
        except ValueError:
            continue
    raise ValueError("Write the day as 1 Dec 2026, 1.12.2026 or 2026-12-01.")


def day(text: object, months: list[str]) -> str:
    """ "2026-11-24..." as "24 November 2026", by the months given; anything else as it stands."""
    words = str(text or "")
    pieces = words[:10].split("-")
    if len(pieces) != 3 or not all(piece.isdecimal() and piece.isascii() for piece in pieces):
        return words
    month = int(pieces[1])
    return f"{int(pieces[2])} {months[month - 1]} {pieces[0]}" if 1 <= month <= 12 else words


def moment(at: str | None) -> str:
    """A moment as people read it: 24 Nov 2026, 10:41 (server's time zone)."""
    if not at:
        return ""
    local = datetime.fromisoformat(at).astimezone()
    return f"{local.day} {SHORT[local.month - 1]} {local:%Y, %H:%M}"
