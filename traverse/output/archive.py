"""What makes a PDF one to keep: PDF/A-2b, and PDF/A-3b where it carries files (ISO 19005-2 and 19005-3).

The clauses are cited from memory of the standards. Fonts are embedded and no transparency, script or encryption is
used by `pdf` anyway; here are the metadata, the colour space that the red, green and blue of the page are meant in,
and the ends of streams, which reportlab writes without the line end that clause 6.1.7.1 wants.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterable, Mapping

from traverse.output.markup import xml_text
from traverse.sheet.paper.document import Document

DATE = "2000-01-01T00:00:00+00:00"
"""Of every file: none may differ from day to day."""
PDF_DATE = f"D:{DATE[:10].replace('-', '')}000000+00'00'"
"""The same as a PDF writes it (ISO 32000-1, 7.9.4); its two statements must agree."""


def metadata(document: Document, program: str) -> bytes:
    """The XMP packet (ISO 16684-1): the level of PDF/A, and what the file says of itself elsewhere too."""
    part = 3 if document.attachments else 2
    authors = "".join(f"<rdf:li>{xml_text(author)}</rdf:li>" for author in document.authors)
    creator = f"<dc:creator><rdf:Seq>{authors}</rdf:Seq></dc:creator>" if authors else ""
    subject = f"<dc:description>{_spoken(document.subject)}</dc:description>" if document.subject else ""
    return f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">
<pdfaid:part>{part}</pdfaid:part><pdfaid:conformance>B</pdfaid:conformance>
<dc:format>application/pdf</dc:format><dc:title>{_spoken(document.title)}</dc:title>{creator}{subject}
<xmp:CreatorTool>{xml_text(program)}</xmp:CreatorTool><pdf:Producer>{xml_text(program)}</pdf:Producer>
<xmp:CreateDate>{DATE}</xmp:CreateDate><xmp:ModifyDate>{DATE}</xmp:ModifyDate>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>
""".encode()


def _spoken(text: str) -> str:
    return f'<rdf:Alt><rdf:li xml:lang="x-default">{xml_text(text)}</rdf:li></rdf:Alt>'


def srgb_profile() -> bytes:
    """An ICC profile (ICC.1:2004-10, version 4) of sRGB (IEC 61966-2-1), by its primaries adapted to D50."""
    curve = _tagged(
        b"para", struct.pack(">HH", 3, 0) + _fixed(2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
    )
    tags = (
        ((b"desc",), _tagged(b"mluc", _words("sRGB"))),
        ((b"cprt",), _tagged(b"mluc", _words("No copyright"))),
        ((b"wtpt",), _tagged(b"XYZ ", _fixed(*_D50))),
        ((b"chad",), _tagged(b"sf32", _fixed(*_TO_D50))),
        ((b"rXYZ",), _tagged(b"XYZ ", _fixed(0.43607, 0.22249, 0.01392))),
        ((b"gXYZ",), _tagged(b"XYZ ", _fixed(0.38515, 0.71687, 0.09708))),
        ((b"bXYZ",), _tagged(b"XYZ ", _fixed(0.14307, 0.06061, 0.71410))),
        ((b"rTRC", b"gTRC", b"bTRC"), curve),
    )
    table, body = b"", b""
    start = 128 + 4 + 12 * sum(len(names) for names, _ in tags)
    for names, data in tags:
        for name in names:
            table += name + struct.pack(">II", start + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    head = struct.pack(
        ">I4sI4s4s4s6H4s4sIIIQI12s4s44x",
        start + len(body),
        b"\0" * 4,
        0x04200000,
        b"mntr",
        b"RGB ",
        b"XYZ ",
        *(2000, 1, 1, 0, 0, 0),
        b"acsp",
        b"\0" * 4,
        *(0, 0, 0, 0, 0),
        _fixed(*_D50),
        b"\0" * 4,
    )
    return head + struct.pack(">I", len(table) // 12) + table + body


_D50 = (0.9642, 1.0, 0.8249)
_TO_D50 = (1.04790, 0.02292, -0.05021, 0.02960, 0.99048, -0.01707, -0.00925, 0.01508, 0.75168)
"""Bradford's adaptation of D65 to D50."""


def _tagged(kind: bytes, body: bytes) -> bytes:
    return kind + b"\0" * 4 + body


def _fixed(*values: float) -> bytes:
    return struct.pack(f">{len(values)}i", *(round(value * 65536) for value in values))


def _words(text: str) -> bytes:
    coded = text.encode("utf-16-be")
    return struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(coded), 28) + coded


KINDS: Mapping[str, str] = {
    ".trav": "text/plain",
    ".xyz": "text/plain",
    ".txt": "text/plain",
    ".tif": "image/tiff",
}
"""Media types of carried files by the ends of their names; clause 6.8 wants one."""


def ended_streams(data: bytes, offsets: Iterable[int]) -> bytes:
    """A PDF with a line end before every `endstream`, and its table of objects made anew.

    `offsets` is where each of its objects begins, in the order of their numbers from 1.
    """
    starts = list(offsets)
    table = data.rindex(b"\nxref\n") + 1
    order = sorted(starts)
    ends = dict(zip(order, [*order[1:], table], strict=True))
    parts = [data[: order[0]]]
    at: dict[int, int] = {}
    length = len(parts[0])
    for start in order:
        piece = data[start : ends[start]]
        if piece.rstrip().endswith(_BARE_END):
            cut = piece.rindex(_BARE_END)
            piece = piece[:cut] + b"\n" + piece[cut:]
        at[start] = length
        length += len(piece)
        parts.append(piece)
    rows = b"".join(b"%010d 00000 n \n" % at[start] for start in starts)
    parts.append(b"xref\n0 %d\n0000000000 65535 f \n" % (len(starts) + 1) + rows)
    trailer = data[data.index(b"trailer", table) :]
    parts.append(re.sub(rb"startxref\n\d+", b"startxref\n%d" % length, trailer))
    return b"".join(parts)


_BARE_END = b"endstream\nendobj"
