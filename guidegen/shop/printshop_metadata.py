"""Info, XMP and output intent of a print-shop PDF (ISO 15930, ISO 16684): what a file says of itself.

What is claimed, and no more: with a profile in the file, PDF/X-4 (ISO 15930-7, 6.2: the profile is embedded), by a key
in XMP; as ``x-1a``, PDF/X-1a:2003 (ISO 15930-4, 6.2: a registered printing condition's name will do instead), by a key
in Info. A layered file without a profile claims neither, though it is built the same way. Clauses are from memory.
"""

from __future__ import annotations

import hashlib
import os
import time
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from guidegen.errors import Plain, bad_input
from guidegen.limits import MAX_ICC_TAGS

REGISTRY = "http://www.color.org"
CONDITIONS = {
    "FOGRA27": "Offset on coated paper, ISO 12647-2:1996",
    "FOGRA39": "Offset on coated paper, ISO 12647-2:2004",
    "FOGRA47": "Offset on uncoated white paper, ISO 12647-2:2004",
    "FOGRA51": "Offset on premium coated paper, ISO 12647-2:2013",
    "FOGRA52": "Offset on wood-free uncoated paper, ISO 12647-2:2013",
    "IFRA26": "Newspaper, ISO 12647-3:2005",
    "JC200103": "Offset on coated paper in Japan",
    "CGATS TR 001": "Web offset on coated paper in the US (SWOP)",
    "CGATS TR 003": "Web offset on coated no. 3 paper in the US (SWOP)",
    "CGATS TR 005": "Web offset on coated no. 5 paper in the US (SWOP)",
    "CGATS TR 006": "Sheet-fed offset on coated paper in the US (GRACoL)",
}
"""Registered printing conditions (from memory). Another one is known by its profile only, which then must be given."""
DEFAULT_CONDITION = "FOGRA39"
UNREGISTERED = "Custom"
"""The identifier of a condition that only the profile in the file describes (ISO 32000-1, 14.11.5)."""
_ICC_VERSIONS = (2, 4, 5)
_SMALLEST_TAG = 8
"""A type and four reserved bytes (ICC.1:2010, 10)."""
_EPOCH = 946_684_800  # 2000-01-01: a date is asked for, and one that moves would make every file another


@dataclass(frozen=True, slots=True)
class Intent:
    """The printing condition a file is meant for: a registered name, and a CMYK output profile if there is one."""

    name: str = DEFAULT_CONDITION
    profile: bytes | None = None


def check_intent(intent: Intent, where: str) -> Intent:
    """Return ``intent`` when its condition is registered, or its profile is there to say what it is.

    Raises:
        GuidegenError: neither.
    """
    if intent.profile is None and intent.name not in CONDITIONS:
        fix = "or add the profile itself, `icc`"
        raise bad_input(where, "", intent.name, f"a registered printing condition: {', '.join(CONDITIONS)}", fix)
    return intent


def claimed(intent: Intent, standard: str) -> str | None:
    """Return the PDF/X that a file of this standard and intent may say it is, None where there is none."""
    if standard == "x-1a":
        return "PDF/X-1a:2003"
    return "PDF/X-4" if intent.profile is not None else None


def check_profile(data: bytes, where: str) -> bytes:
    """Return ``data`` when it is a CMYK output profile by its header (ICC.1:2010, 7.2).

    Raises:
        GuidegenError: for anything else.
    """
    if len(data) < 132 or data[36:40] != b"acsp":
        raise bad_input(where, "", "no ICC profile", "a CMYK printer profile (.icc)")
    space, kind = data[16:20], data[12:16]
    if space != b"CMYK" or kind != b"prtr":
        found = f"a {kind.decode('ascii', 'replace').strip()} profile of {space.decode('ascii', 'replace').strip()}"
        raise bad_input(where, "", found, "a CMYK printer profile (.icc)")
    if int.from_bytes(data[:4], "big") != len(data):
        raise bad_input(where, "", f"{len(data)} bytes", f"the {int.from_bytes(data[:4], 'big')} bytes its header says")
    if data[8] not in _ICC_VERSIONS:
        found, fix = Plain(f"version {data[8]} of the format"), "ask for another profile"
        raise bad_input(where, "", found, "version 2, 4 or 5", fix)
    _check_tags(data, where)
    return data


def _check_tags(data: bytes, where: str) -> None:
    """Raise when the table of tags (ICC.1:2010, 7.3) is not whole, or has no table from and to CMYK (8.5)."""
    count = int.from_bytes(data[128:132], "big")
    first = 132 + 12 * count
    if not 0 < count <= MAX_ICC_TAGS or first > len(data):
        raise bad_input(where, "", Plain(f"a table of {count} tags"), f"1 to {MAX_ICC_TAGS}, as many as there are")
    found = set()
    for place in range(132, first, 12):
        name, start, size = data[place : place + 4], *(
            int.from_bytes(data[place + k : place + k + 4], "big") for k in (4, 8)
        )  # fmt: skip
        shown = name.decode("ascii", "replace")
        if start < first or size < _SMALLEST_TAG or start + size > len(data):
            raise bad_input(where, shown, Plain("a tag that lies outside the file"), "a whole profile", "copy it again")
        found.add(name)
    for name in (b"A2B0", b"B2A0"):
        if name not in found:
            raise bad_input(where, name.decode(), Plain("nothing"), "the tables of a printer profile")


def moment() -> float:
    """Return the seconds since 1970 that go into a file: SOURCE_DATE_EPOCH or the start of 2000, never the clock."""
    text = os.environ.get("SOURCE_DATE_EPOCH", "")
    return float(text) if text.isdigit() and len(text) < 12 else float(_EPOCH)


def add_metadata(
    pdf: Any, title: str, description: str, intent: Intent, version: str | None, content: bytes
) -> None:
    """Write Info, XMP, output intent and viewer preferences into ``pdf``; ``version`` is the PDF/X claimed.

    ``content`` stands for all that is on the pages: two files that differ there have different ids.
    """
    import pikepdf

    when = time.gmtime(moment())
    stamp = time.strftime("D:%Y%m%d%H%M%S+00'00'", when)
    info = {"Title": title, "Subject": description, "CreationDate": stamp, "ModDate": stamp}
    pdf.trailer.Info = pdf.make_indirect(pikepdf.Dictionary({f"/{key}": value for key, value in info.items() if value}))
    pdf.trailer.Info.Trapped = pikepdf.Name("/False")
    if version is not None and "X-1" in version:
        pdf.trailer.Info.GTS_PDFXVersion = version
    own = hashlib.sha256(content + f"{title}\n{description}\n{intent.name}\n{version}".encode()).hexdigest()
    packet = _xmp(title, description, time.strftime("%Y-%m-%dT%H:%M:%S+00:00", when), version, own)
    pdf.Root.Metadata = pdf.make_indirect(pdf.make_stream(packet, Type=pikepdf.Name.Metadata, Subtype=pikepdf.Name.XML))
    # ViewArea and its like may name the media box or the bleed box alone (ISO 15930-4, from memory): none is named
    pdf.Root.ViewerPreferences = pikepdf.Dictionary(PrintScaling=pikepdf.Name("/None"), DisplayDocTitle=True)
    pdf.Root.OutputIntents = pikepdf.Array([pdf.make_indirect(_intent(pdf, intent))])


def _intent(pdf: Any, intent: Intent) -> Any:
    import pikepdf

    entry = pikepdf.Dictionary(
        Type=pikepdf.Name.OutputIntent,
        S=pikepdf.Name.GTS_PDFX,
        OutputConditionIdentifier=intent.name,
        OutputCondition=CONDITIONS.get(intent.name, intent.name),
        Info=intent.name,
    )
    if intent.name == UNREGISTERED:
        entry.OutputCondition = entry.Info = "As the profile in this file describes it"
    if intent.name in CONDITIONS:
        entry.RegistryName = REGISTRY
    if intent.profile is not None:
        entry.DestOutputProfile = pdf.make_indirect(pdf.make_stream(intent.profile, N=4))
    return entry


def _xmp(title: str, description: str, when: str, version: str | None, own: str) -> bytes:
    uuid = f"uuid:{own[:8]}-{own[8:12]}-5{own[13:16]}-8{own[17:20]}-{own[20:32]}"
    claim = "" if version is None or "X-1" in version else f"<pdfxid:GTS_PDFXVersion>{version}</pdfxid:GTS_PDFXVersion>"
    said = f'<rdf:Alt><rdf:li xml:lang="x-default">{escape(description)}</rdf:li></rdf:Alt>'
    about = f"<dc:description>{said}</dc:description>" if description else ""
    return f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
 xmlns:pdfxid="http://www.npes.org/pdfx/ns/id/">
<dc:format>application/pdf</dc:format>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{escape(title)}</rdf:li></rdf:Alt></dc:title>
{about}
<xmp:CreateDate>{when}</xmp:CreateDate><xmp:ModifyDate>{when}</xmp:ModifyDate><xmp:MetadataDate>{when}</xmp:MetadataDate>
<xmpMM:DocumentID>{uuid}</xmpMM:DocumentID><xmpMM:VersionID>1</xmpMM:VersionID>
<xmpMM:RenditionClass>default</xmpMM:RenditionClass>
<pdf:Trapped>False</pdf:Trapped>{claim}
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>""".encode()
