"""PDF/A: structure that ISO 19005-2 and 19005-3 ask for. Clauses are from memory; no validator was at hand."""

import hashlib
import io
import re
import struct
from xml.etree import ElementTree as ET

import pikepdf
import pypdf
import pypdfium2
import pytest
from fontTools.ttLib import TTFont
from PIL import Image, ImageCms

from tests.sheet.fixture_sheet import compiled
from traverse.compile import blank_ground, map_ground
from traverse.output.archive import srgb_profile
from traverse.output.pdf import write_pdf
from traverse.sheet.compose.compose import compose
from traverse.sheet.compose.grey import compose_grey
from traverse.sheet.handout.handout import compose_blank
from traverse.sheet.paper.document import Document
from traverse.sheet.paper.page import Page, Text
from traverse.sheet.template.reading import read_template

LOG = (
    "party AB Ана Žižková <&>\nbearings true\nattitudes dip-direction\nunit Aa Alpha ; Triassic\n"
    "unit Bb Beta ; Permian\nsection A-A' from 1 to 3\nat 1\n  unit Aa\n  bed 120/30\n"
    "to 2 060 100m +4\n  unit Bb\n  note 岩 is in no font of the sheet\n  hazard loose blocks\nto 3 150 90m -3\n"
)
CARRIED = (("day.trav", LOG.encode()), ("heights/Grün.xyz", b"0 0 1\n"), ("h.tif", b"II*\0"), ("odd", b"x"))


def made(kind):
    found = compiled(LOG, title="Dale <b> & Ł")
    template = read_template("field").value
    if kind == "blank":
        return compose_blank(found.trav, lay=blank_ground, template=template, mark="abc").value
    make = compose_grey if kind == "grey" else compose
    document = make(map_ground(found.trav), (), template=template, mark="abc").value
    return Document(
        pages=document.pages,
        title=document.title,
        authors=document.authors,
        subject=document.subject,
        attachments=CARRIED if kind == "key" else (),
    )


@pytest.fixture(scope="module", params=["key", "grey", "blank"])
def kept(request):
    return request.param, write_pdf(made(request.param))


@pytest.fixture(scope="module")
def reader(kept):
    return pypdf.PdfReader(io.BytesIO(kept[1]), strict=True)


def described(reader):
    """The metadata packet as `{name: text of its element}`."""
    stream = reader.trailer["/Root"]["/Metadata"].get_object()
    assert "/Filter" not in stream
    assert (stream["/Type"], stream["/Subtype"]) == ("/Metadata", "/XML")
    root = ET.fromstring(stream.get_data())  # noqa: S314
    (said,) = root.iter("{http://www.w3.org/1999/02/22-rdf-syntax-ns#}Description")
    return {one.tag.partition("}")[2]: [text for text in one.itertext() if text.strip()] for one in said}


def every(reader):
    """Every object of the file, by its number."""
    for number in range(1, reader.trailer["/Size"]):
        yield reader.get_object(number)


def inner(one):
    if isinstance(one, pypdf.generic.DictionaryObject):
        yield one
        for value in one.values():
            yield from inner(value)
    elif isinstance(one, pypdf.generic.ArrayObject):
        for value in one:
            yield from inner(value)


def test_it_says_which_level_and_the_same_as_the_document_information(kept, reader):
    """19005-2, 6.6.4: part and conformance; files may be carried from part 3 on."""
    said = described(reader)
    assert said["part"] == ["3" if kept[0] == "key" else "2"]
    assert said["conformance"] == ["B"]
    assert said["title"] == [reader.metadata.title]
    assert said.get("creator", []) == ([reader.metadata.author] if reader.metadata.author else [])
    assert said.get("description", []) == ([reader.metadata.subject] if reader.metadata.subject else [])
    assert said["CreatorTool"] == [reader.metadata.creator]
    assert said["Producer"] == [reader.metadata.producer]
    day = reader.metadata.creation_date
    assert said["CreateDate"] == said["ModifyDate"] == [day.isoformat()]
    assert day == reader.metadata.modification_date
    if kept[0] == "key":
        assert said["creator"] == ["Ана Žižková <&>"]


def test_header_trailer_and_ends_of_streams(kept):
    """6.1.2, 6.1.3, 6.1.7.1, 6.1.9: as the bytes stand."""
    data = kept[1]
    assert re.match(rb"%PDF-1\.[0-7]\n%[\x80-\xff]{4}", data)
    assert data.endswith(b"%%EOF\n")
    assert data.count(b"%%EOF") == data.count(b"startxref") == 1
    start = int(re.search(rb"startxref\n(\d+)", data)[1])
    assert data[start:].startswith(b"xref\n0 ")
    rows = re.findall(rb"(\d{10}) 00000 n \n", data[start:])
    for number, row in enumerate(rows, start=1):
        assert data[int(row) :].startswith(b"%d 0 obj\n" % number)
        assert data[int(row) - 1 : int(row)] == b"\n"
    streams = 0
    for row in rows:
        head, there, _ = data[int(row) :].partition(b"\nstream\n")
        if there and b"endobj" not in head:
            end = int(row) + len(head) + len(there) + int(re.search(rb"/Length (\d+)", head)[1])
            assert data[end:].startswith(b"\nendstream\nendobj\n")
            streams += 1
    assert streams == data.count(b"endstream\n") > 5


def test_trailer_has_an_identity_and_no_lock(reader):
    first, second = reader.trailer["/ID"]
    assert first == second
    assert len(first.original_bytes) == 16
    assert "/Encrypt" not in reader.trailer


def test_colours_are_meant_in_a_space_that_the_file_holds(reader):
    """6.2.3 and 6.2.4.3: the page's red, green and blue need an output intent of that kind."""
    (intent,) = reader.trailer["/Root"]["/OutputIntents"]
    assert (intent["/Type"], intent["/S"]) == ("/OutputIntent", "/GTS_PDFA1")
    profile = intent["/DestOutputProfile"].get_object()
    assert profile["/N"] == 3
    assert profile.get_data() == srgb_profile()


def test_the_profile_is_srgb_as_a_colour_library_knows_it():
    """Reference: the profile that LittleCMS builds in, by Pillow; colours through one and back by the other."""
    data = srgb_profile()
    assert struct.unpack(">I", data[:4])[0] == len(data)
    own = ImageCms.ImageCmsProfile(io.BytesIO(data))
    theirs = ImageCms.createProfile("sRGB")
    colours = [(r, g, b) for r in range(0, 256, 15) for g in range(0, 256, 15) for b in range(0, 256, 15)]
    image = Image.new("RGB", (len(colours), 1))
    image.putdata(colours)
    for ends in ((own, theirs), (theirs, own)):
        seen = ImageCms.profileToProfile(image, *ends).tobytes()
        assert max(abs(a - b) for a, b in zip(seen, image.tobytes(), strict=True)) <= 1
    shared = {
        name: getattr(own.profile, name) for name in ("red_colorant", "green_colorant", "blue_colorant")
    }
    reference = ImageCms.ImageCmsProfile(theirs).profile
    for name, value in shared.items():
        assert value[0] == pytest.approx(getattr(reference, name)[0], abs=3e-4)


def fonts(reader):
    found = {}
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            found[font["/BaseFont"]] = font.get_object()
    return found.values()


def test_every_font_is_inside_and_has_the_widths_and_letters_it_says(reader):
    """6.2.11.4 to 6.2.11.6: embedded; one table of characters in a symbolic font; widths as in the font itself."""
    there = list(fonts(reader))
    assert there
    for font in there:
        assert font["/Subtype"] == "/TrueType"
        assert "/ToUnicode" in font
        descriptor = font["/FontDescriptor"]
        assert descriptor["/Flags"] & 4
        assert "/Encoding" not in font
        inside = TTFont(io.BytesIO(descriptor["/FontFile2"].get_data()))
        (table,) = inside["cmap"].tables
        em = inside["head"].unitsPerEm
        for code in used(reader, font):
            glyph = table.cmap.get(code, ".notdef")
            # 6.2.11.8: the sign for what is missing is never shown.
            assert inside.getGlyphID(glyph) != 0
            width = font["/Widths"][code - font["/FirstChar"]]
            assert width == pytest.approx(inside["hmtx"][glyph][0] * 1000 / em, abs=1.0)


def used(reader, font):
    """Codes that pages show in a font."""
    codes = set()
    for page in reader.pages:
        names = {name for name, one in page["/Resources"]["/Font"].items() if one.get_object() == font}
        now = None
        for operands, operator in pypdf.generic.ContentStream(page.get_contents(), reader).operations:
            if operator == b"Tf":
                now = operands[0]
            elif operator == b"Tj" and now in names:
                (text,) = operands
                codes |= set(text if isinstance(text, bytes) else text.original_bytes)
    return codes


def test_nothing_of_what_is_forbidden_is_there(reader):
    """6.2.5, 6.2.10, 6.3, 6.4, 6.5: no transparency, notes, forms, actions, scripts or things outside."""
    for one in every(reader):
        for table in inner(one):
            assert not {"/JS", "/JavaScript", "/A", "/AA", "/OpenAction", "/AcroForm", "/Annots"} & set(table)
            assert not {"/SMask", "/CA", "/ca", "/BM", "/TR", "/TR2", "/HTP"} & set(table)
            assert not {"/FFilter", "/FDecodeParms", "/XFA", "/Perms", "/Requirements", "/PS"} & set(table)
            assert "/LZWDecode" not in str(table.get("/Filter"))
            if table.get("/Type") != "/Filespec":
                assert not (isinstance(table, pypdf.generic.StreamObject) and "/F" in table)
    for page in reader.pages:
        operations = pypdf.generic.ContentStream(page.get_contents(), reader).operations
        assert not {operator for _, operator in operations} & {b"gs", b"sh", b"Do", b"ri", b"BI"}
        deep = most = 0
        for _, operator in operations:
            deep += {b"q": 1, b"Q": -1}.get(operator, 0)
            most = max(most, deep)
        # 6.1.13
        assert most <= 28
        assert deep == 0


def test_layers_have_a_configuration_with_a_name_that_lists_them_all(reader):
    """6.9"""
    layers = reader.trailer["/Root"]["/OCProperties"]
    assert layers["/D"]["/Name"]
    assert "/AS" not in layers["/D"]
    assert [one.idnum for one in layers["/D"]["/Order"]] == [one.idnum for one in layers["/OCGs"]]


def test_carried_files_are_the_document_s_own_and_say_what_they_are(kept, reader):
    """19005-3, 6.8: relationship, media type and names of every file, and all of them associated."""
    root = reader.trailer["/Root"]
    if kept[0] != "key":
        assert "/AF" not in root
        assert "/Names" not in root
        return
    tree = root["/Names"]["/EmbeddedFiles"]["/Names"]
    assert [one.idnum for one in root["/AF"]] == [one.idnum for one in tree[1::2]]
    kinds = {}
    for one in root["/AF"]:
        table = one.get_object()
        assert table["/Type"] == "/Filespec"
        assert table["/F"] == table["/UF"]
        assert table["/AFRelationship"] == "/Source"
        stream = table["/EF"]["/F"].get_object()
        assert re.fullmatch(r"D:\d{14}\+00'00'", stream["/Params"]["/ModDate"])
        assert stream["/Params"]["/Size"] == len(stream.get_data())
        kinds[table["/UF"]] = stream["/Subtype"]
    assert kinds == {
        "day.trav": "/text/plain",
        "heights/Grün.xyz": "/text/plain",
        "h.tif": "/image/tiff",
        "odd": "/application/octet-stream",
    }
    assert {name: content[0] for name, content in reader.attachments.items()} == dict(CARRIED)


def test_a_character_that_no_font_has_is_an_empty_box():
    pages = pypdfium2.PdfDocument(write_pdf(made("key")))
    assert "□ is in no font" in "\n".join(page.get_textpage().get_text_range() for page in pages)


@pytest.mark.parametrize("title", ["\uffff\x00\x1b]>", "]]>&<!--", "\ud800lone", "a\u202eb", ""])
def test_no_title_breaks_the_metadata(title):
    page = Page(width_mm=20.0, height_mm=20.0, items=(Text(at=(2, 2), text="a"),), title="a")
    data = write_pdf(Document(pages=(page,), title=title, authors=(title,), subject=title))
    described(pypdf.PdfReader(io.BytesIO(data)))


def test_a_print_dialog_is_told_not_to_change_the_scale(reader):
    """ISO 32000-1, 12.2, table 150."""
    wanted = reader.trailer["/Root"]["/ViewerPreferences"]
    assert wanted["/PrintScaling"] == "/None"
    assert wanted["/DisplayDocTitle"]


@pytest.mark.parametrize("content", [b"533", b"8904", b"2"])
def test_the_checksum_of_a_carried_file_is_its_bytes_whatever_they_happen_to_be(content):
    """Sixteen bytes that may be letters of UTF-8 (of 533 and 8904), or none of any text (of 2)."""
    document = Document(
        title="t",
        pages=(Page(width_mm=50.0, height_mm=50.0, items=(), title="t"),),
        attachments=(("n.txt", content),),
    )
    with pikepdf.open(io.BytesIO(write_pdf(document))) as pdf:
        stream = pdf.attachments["n.txt"].obj.EF.F
        assert bytes(stream.Params.CheckSum) == hashlib.md5(content, usedforsecurity=False).digest()


def test_a_day_in_the_environment_changes_no_byte_and_sets_no_second_date(monkeypatch):
    """One statement of a sheet's day followed a variable of builds, the other did not."""
    document = made("key")
    whole = write_pdf(document)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1000000000")
    assert write_pdf(document) == whole
