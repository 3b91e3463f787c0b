"""Page, plain text and PDF: literal words, same bytes, and what a reader's tools need."""

import io
import re
import unicodedata
from html.parser import HTMLParser

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.report import samples
from webapp.report import content, fonts, issue, page, pdf
from webapp.report.case import Json

HOSTILE = (
    '#panic("typst")',
    "#{1+1} [x](y) = heading",
    "<script>alert(1)</script>",
    "{{ 7*7 }}{% raw %}",
    "$x^2$ _a_ *b*",
    "\\u{41} \\n",
    "</bdi><b>bold",
    "& &amp; \"quoted\" 'single'",
    "@label <label>",
    "// comment /* open",
)


def built(told: Json, judged: Json, facts: Json | None = None) -> dict[str, str | bytes]:
    return issue.build(told, judged, facts or samples.meta(), samples.tables())


def words_of(document: bytes) -> str:
    """The PDF's text; typst hangs long words with zero-width spaces, which are no part of the words."""
    reader = pypdf.PdfReader(io.BytesIO(document))
    return "\n".join(one.extract_text() for one in reader.pages).replace("\u200b", "")


def squeezed(words: str) -> str:
    return "".join(words.split())


def with_words(words: str) -> Json:
    note = {"id": "n", "about": "liver", "text": words, "struck": False, "author": "VS", "at": samples.ISSUED}
    told = samples.exam(notes=[note], fields={"impression": words})
    return told | {
        "question": {"text": words, "structures": ["liver"], "answered": "yes"},
        "patient": told["patient"] | {"name": words},
    }


class Body(HTMLParser):
    """The text of a page and the names of its elements."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.elements: list[str] = []
        self.attributes: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(tag)
        self.attributes += [name for name, _ in attrs]

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def read_page(html: str) -> Body:
    body = Body()
    body.feed(html)
    return body


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_come_out_literally_in_all_forms(words: str) -> None:
    forms = built(with_words(words), samples.judgement())
    assert words in str(forms["text"])
    assert words in "".join(read_page(str(forms["html"])).words)
    assert squeezed(words) in squeezed(words_of(bytes(forms["pdf"])))


def test_page_has_no_script_no_style_and_no_element_from_the_words() -> None:
    body = read_page(str(built(with_words(" ".join(HOSTILE)), samples.judgement())["html"]))
    assert not {"script", "style", "b", "img", "iframe", "form"} & set(body.elements)
    assert not [name for name in body.attributes if name == "style" or name.startswith("on")]


def test_right_to_left_words_survive_in_all_forms() -> None:
    words = "\u05e9\u05dc\u05d5\u05dd"
    forms = built(with_words(words), samples.judgement())
    assert words in str(forms["text"]) and words in str(forms["html"])
    printed = words_of(bytes(forms["pdf"]))
    assert words in printed or words[::-1] in printed


def test_character_without_a_glyph_is_spelled_out_in_the_pdf_and_literal_elsewhere() -> None:
    words = "\U0001f415 \u4e2d \U0001f600"
    forms = built(with_words(words), samples.judgement())
    assert words in str(forms["text"]) and words in str(forms["html"])
    printed = words_of(bytes(forms["pdf"]))
    assert "[U+1F415]" in printed and "[U+4E2D]" in printed and "\U0001f600" in printed


def test_control_characters_are_visible_and_direction_marks_do_not_turn_the_pdf() -> None:
    forms = built(with_words("a\x00b\x07c \u202ereversed"), samples.judgement())
    assert "a[U+0000]b[U+0007]c" in str(forms["text"])
    assert "a[U+0000]b[U+0007]c [U+202E]reversed" in words_of(bytes(forms["pdf"]))
    assert 'dir="auto"' in str(forms["html"])


def test_lone_surrogate_does_not_stop_a_signature() -> None:
    forms = built(with_words("torn \ud83d pair"), samples.judgement())
    assert "torn \ufffd pair" in str(forms["text"])
    str(forms["html"]).encode("utf-8")


def test_long_note_is_printed_to_its_last_word() -> None:
    note = "".join(f"word{number} " for number in range(700)) + "the-very-end"
    assert len(note) > 5000
    forms = built(with_words(note), samples.judgement())
    for form in (str(forms["text"]), str(forms["html"]), words_of(bytes(forms["pdf"]))):
        assert "the-very-end" in form
        assert "word699" in form


def test_word_without_a_space_stays_on_the_paper() -> None:
    word = "x" * 3000
    printed = words_of(bytes(built(with_words(word), samples.judgement())["pdf"]))
    longest = max(len(run) for line in printed.splitlines() for run in line.split())
    assert squeezed(printed).count("x") >= 3 * 3000
    assert longest < 200


def test_same_input_gives_identical_bytes() -> None:
    first, second = (built(*samples.of_demo("DP06")) for _ in range(2))
    assert first == second


def test_one_changed_reading_changes_the_bytes() -> None:
    told, judged = samples.hidden_pole()
    changed = told | {"readings": [told["readings"][0] | {"value": "7.5"}, *told["readings"][1:]]}
    assert built(told, judged)["pdf"] != built(changed, judged)["pdf"]


def test_pdf_carries_title_language_tags_and_its_standard() -> None:
    document = bytes(built(*samples.of_demo("DP01"))["pdf"])
    reader = pypdf.PdfReader(io.BytesIO(document))
    root = reader.trailer["/Root"]
    assert reader.metadata is not None and "Pepper" in str(reader.metadata.title)
    assert root["/Lang"] == "en-GB"
    assert root["/MarkInfo"]["/Marked"] == True  # noqa: E712 - pypdf's own boolean
    assert "/StructTreeRoot" in root
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712 - pypdf's own boolean
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()


def test_pdf_time_is_the_time_of_issue() -> None:
    reader = pypdf.PdfReader(io.BytesIO(bytes(built(*samples.hidden_pole())["pdf"])))
    assert reader.metadata is not None
    assert str(reader.metadata["/CreationDate"]).startswith("D:20261120173205")


def test_table_header_and_animal_stand_on_every_page() -> None:
    told, judged = samples.of_demo("DP12")
    reader = pypdf.PdfReader(io.BytesIO(bytes(built(told, judged)["pdf"])))
    pages = [one.extract_text() for one in reader.pages]
    assert len(pages) > 1
    for number, words in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in words
        assert told["patient_id"] in words
        assert "FINAL, version 1" in words
    assert all("Published limit" in words for words in pages if re.search("Ureter, diameter|Jejunum, wall", words))


def pages_of(name: str) -> list[pypdf.PageObject]:
    return list(pypdf.PdfReader(io.BytesIO(bytes(built(*samples.of_demo(name))["pdf"]))).pages)


@pytest.mark.parametrize("name", ["DP01", "DP02", "DP03", "DP04"])
def test_animal_without_findings_needs_one_page(name: str) -> None:
    assert len(pages_of(name)) == 1


@pytest.mark.parametrize("name", samples.demo_names())
def test_no_demo_animal_needs_more_than_two_pages(name: str) -> None:
    assert len(pages_of(name)) <= 2


@pytest.mark.parametrize("name", samples.demo_names())
def test_no_type_is_smaller_than_promised(name: str) -> None:
    """Body 9 pt, what stands behind it 8 pt; only footer and fingerprints, made for machines, are smaller (7 pt)."""
    sizes: dict[float, str] = {}

    def meet(words: str, _: object, matrix: list[float], __: object, size: float) -> None:
        if words.strip():
            height = round(size * abs(matrix[3]), 1)
            sizes[height] = sizes.get(height, "") + words

    for one in pages_of(name):
        one.extract_text(visitor_text=meet)
    assert min(sizes) == 7.0 and set(sizes) <= {7.0, 8.0, 9.0, 10.0, 10.5, 11.0, 13.0}
    small = "".join(words for size, words in sizes.items() if size < 8)
    assert "Practice head" in small and "Impression" not in small and "[1]" not in small


@pytest.mark.parametrize("name", samples.demo_names())
def test_all_forms_say_the_same_words(name: str) -> None:
    """Every word of the content is in page, text and PDF."""
    told, judged = samples.of_demo(name)
    report = content.report(told, judged, samples.meta(), samples.tables())
    forms = built(told, judged)
    shown = {
        "text": squeezed(str(forms["text"])),
        "html": squeezed("".join(read_page(str(forms["html"])).words)),
        "pdf": squeezed(words_of(bytes(forms["pdf"]))),
    }
    for block in (block for one in report["sections"] for block in one["blocks"]):
        for words in block_words(block):
            for form, printed in shown.items():
                for word in words.split():
                    assert word in printed, (form, words)


def block_words(block: Json) -> list[str]:
    said = [block.get("text", ""), block.get("label", "")]
    said += [text for item in block.get("items", []) for text in (item["text"], *item.get("rows", []))]
    said += [words for row in block.get("rows", []) for cell in row["cells"].values() for words in cell_words(cell)]
    return [*said, block.get("legend", ""), block.get("note", "")]


def cell_words(cell: str | Json) -> list[str]:
    words = [cell] if isinstance(cell, str) else [cell["head"], cell["detail"]]
    return [one for one in words if one != "\u2013"]


def test_page_names_each_cell_for_the_phone() -> None:
    html = page.page(content.report(*samples.hidden_pole(), samples.meta(), samples.tables()))
    for label in ("LEFT", "RIGHT", "Published limit (class)", "Source"):
        assert f'data-label="{label}"' in html


def test_every_class_of_the_page_has_a_rule_or_is_a_column() -> None:
    html = str(built(*samples.of_demo("DP06"))["html"])
    style = (fonts.FOLDER.parent / "static" / page.STYLE_URL.rpartition("/")[2]).read_text(encoding="utf-8")
    columns = {"limit", "source", "earlier", "now", "change", "words", "left", "right", "value", "name"}
    columns |= {"pairs", "parts"}
    columns |= {"fact", "para", "animal", "findings", "label", "head", "who"}
    used = {name for names in re.findall(r'class="([^"]*)"', html) for name in names.split()}
    assert {name for name in used if f".{name}" not in style} <= columns


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=200))
def test_any_text_can_be_signed(words: str) -> None:
    report = content.report(with_words(words), samples.judgement(), samples.meta(), samples.tables())
    assert pdf.pdf(report).startswith(b"%PDF")
    page.page(report).encode("utf-8")


def test_every_covered_character_has_a_glyph() -> None:
    """typst refuses a character without a glyph: a PDF of all of them proves the fonts' tables were read right."""
    letters = [chr(point) for point in sorted(fonts.covered()) if fonts.printable(chr(point)) == chr(point)]
    letters = [letter for letter in letters if not unicodedata.category(letter).startswith(("M", "Z"))]
    assert len(letters) > 5000
    report = content.report(with_words(" ".join(letters)), samples.judgement(), samples.meta(), samples.tables())
    assert pdf._compile(report, fonts.printable, "roomy").startswith(b"%PDF")


def test_last_resort_keeps_latin_letters_and_spells_the_rest() -> None:
    assert fonts.plain("Otto \u00e9 \u4e2d\n") == "Otto \u00e9 [U+4E2D]\n"


def test_exam_with_nothing_but_a_date_can_be_printed() -> None:
    told = samples.exam(patient={}, question={}, patient_id=None)
    printed = words_of(bytes(built(told, {}, samples.unsigned())["pdf"]))
    for words in ("PRELIMINARY", "weight unknown", "age unknown", "No question was recorded.", "Nothing was recorded."):
        assert squeezed(words) in squeezed(printed)
