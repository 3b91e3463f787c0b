"""The page for the owner: only what the vet wrote or ticked for the owner, in no other words; page, PDF and text."""

import textwrap
from pathlib import Path

import typst

from . import fonts, pdf, wording
from .case import Json
from .content import safe
from .page import forms

STYLE_URL = "/report-static/owner-1.css"  # kept pages point here for good: another look is another file
LAYOUT = Path(__file__).parent / "owner.typ"
_WIDTH = 80



def build(words: Json, facts: Json) -> dict[str, str | bytes]:
    """{"html": str, "pdf": bytes, "text": str}; the same input gives the same bytes.

    `words`: "plain" (what was found, in the vet's words for the owner), "next" (what happens next, a list of texts the
    vet ticked or wrote), "ring" (whom to ring). `facts`: animal (name), practice, examined (ISO date), signer (name),
    made_at (ISO 8601), number, version (of the report), language (BCP 47).
    Raises typst.TypstError where the PDF cannot be made.
    """
    told = content(words, facts)
    return {"html": _page(told), "pdf": _pdf(told), "text": _text(told)}


def content(words: Json, facts: Json) -> Json:
    """One plain dict that every form prints: a section without words is left out, none is ever filled in."""
    name = str(facts.get("animal") or "Your animal")
    sections = [
        {"title": "What we found", "paragraphs": _paragraphs(words.get("plain")), "items": []},
        {"title": "What happens next", "paragraphs": [], "items": [str(one) for one in words.get("next") or []]},
        {"title": "Whom to ring", "paragraphs": _paragraphs(words.get("ring")), "items": []},
    ]
    examined, made = wording.day(facts.get("examined")), wording.day(str(facts.get("made_at") or "")[:10])
    told = {
        "title": f"{name}: ultrasound of the belly, {examined}",
        "language": str(facts.get("language") or "en-GB"),
        "practice": str(facts.get("practice") or ""),
        "sections": [section for section in sections if section["paragraphs"] or section["items"]],
        "written": f"Written for you by {facts.get('signer') or 'your vet'} on {made}.",
        "about": "This page says in plain words what matters to you. The full report is with your vet.",
        "mark": f"Page for the owner {facts['number']}, to version {facts['version']} of the report",
        "issued_at": str(facts.get("made_at") or ""),
    }
    return dict(safe(told))


def _paragraphs(text: object) -> list[str]:
    return [piece.strip() for piece in str(text or "").split("\n") if piece.strip()]


def _page(told: Json) -> str:
    return forms.get_template("owner.html").render(page=told, style_url=STYLE_URL)


def _pdf(told: Json) -> bytes:
    try:
        return pdf.compiled(LAYOUT, told, fonts.printable)
    except typst.TypstError as error:
        if "could not be displayed" not in str(error):
            raise
        return pdf.compiled(LAYOUT, told, fonts.plain)


def _text(told: Json) -> str:
    lines = [told["practice"], told["title"], ""]
    for section in told["sections"]:
        lines += [section["title"].upper(), *section["paragraphs"], *(f"- {item}" for item in section["items"]), ""]
    lines += [told["written"], told["about"], told["mark"]]
    wrapped = [textwrap.wrap(line, _WIDTH, break_on_hyphens=False) or [""] for line in lines]
    return "\n".join(line for group in wrapped for line in group) + "\n"
