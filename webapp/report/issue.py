"""What is handed out and kept at signing: the page, the PDF and the plain text of one version."""

from . import content, page, pdf, text
from .case import Json


def build(
    exam: Json, judgement: Json, meta: Json, tables: Json | None = None, courses: Json | None = None
) -> dict[str, str | bytes]:
    """{"html": str, "pdf": bytes, "text": str} of one exam; the same input gives the same bytes.

    `exam` and `judgement` come from the rule code. `meta`: practice, version, status (FHIR word),
    signer {id, name}, issued_at (ISO 8601), limits_version, tables_hash, core_version, entries,
    amendments [{status, reason, text, at, by}], head, and optionally people {person id: name}.
    `courses`: the series of quantities with an earlier exam, for the plots of what changed.
    Raises typst.TypstError where the PDF cannot be made: then nothing may be signed.
    """
    made = content.report(exam, judgement, meta, tables, courses)
    return {"html": page.page(made), "pdf": pdf.pdf(made), "text": text.text(made)}
