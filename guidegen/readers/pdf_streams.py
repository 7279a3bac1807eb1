"""Content streams unpacked no further than the budget allows."""

from __future__ import annotations

import base64
import binascii
import io
import zlib
from collections.abc import Iterator
from typing import Any

from guidegen import limits
from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.readers.budget import Budget, too_much


def instructions(source: Any, budget: Budget) -> Iterator[tuple[list[Any], str]]:
    """Yield (operands, operator) of a stream or an array of streams.

    Raises:
        GuidegenError: when it unpacks to more than the budget holds, or is damaged.
    """
    import pikepdf

    parts = list(source) if isinstance(source, pikepdf.Array) else [source]
    if len(parts) > limits.MAX_STREAMS:
        raise too_much(budget.name, "content streams", limits.MAX_STREAMS)
    data = b"\n".join(unpacked(part, budget) for part in parts if isinstance(part, pikepdf.Stream))
    whole = pikepdf.Pdf.new()
    for entry in pikepdf.parse_content_stream(pikepdf.Stream(whole, data)):
        operator = str(entry.operator)
        if operator == "INLINE IMAGE":
            image = getattr(entry, "iimage", None)
            yield [getattr(image, "obj", {})], operator
        else:
            yield list(entry.operands), operator


def check_content(data: bytes, name: str) -> None:
    """Raise when what a PDF's pages draw unpacks to more than is read; its pictures are not unpacked.

    For readers that hand a whole file to a library.

    Raises:
        GuidegenError: too much, or no PDF.
    """
    import pikepdf

    budget = Budget(name)
    try:
        with pikepdf.open(io.BytesIO(data), suppress_warnings=True) as pdf:
            for thing in pdf.objects:
                if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") != "/Image":
                    unpacked(thing, budget)
    except (pikepdf.PdfError, ValueError, TypeError, RuntimeError) as error:
        raise bad_input(name, "", Plain("a damaged PDF"), "a whole PDF", "make or copy it again") from error


def unpacked(stream: Any, budget: Budget) -> bytes:
    """Return a stream's bytes with its filters undone, and take them from the budget."""
    import pikepdf

    raw: bytes = bytes(stream.read_raw_bytes())
    filters = stream.get("/Filter", [])
    names = [str(filters)] if isinstance(filters, pikepdf.Name) else [str(entry) for entry in filters]
    plain = "/DecodeParms" not in stream and "/DP" not in stream
    if plain and set(names) <= {"/FlateDecode", "/ASCII85Decode", "/ASCIIHexDecode"}:
        for name in names:
            raw = _undo(name, raw, budget, f"object {stream.objgen[0]}")
    elif names:
        if len(raw) > 100_000:  # rare filters: at most some 1000 bytes from each byte
            raise too_much(budget.name, "bytes of content in rare filters", 100_000)
        raw = bytes(stream.read_bytes())
    budget.spend("bytes of content", len(raw))
    return raw


def _undo(name: str, raw: bytes, budget: Budget, where: str) -> bytes:
    def damaged(how: str) -> GuidegenError:
        found = Plain(f"a stream packed by {name} that {how}")
        return bad_input(budget.name, where, found, "a whole stream", "make or copy the file again")

    try:
        if name == "/ASCII85Decode":
            body = raw.strip()
            return base64.a85decode(body.removesuffix(b"~>"))
        if name == "/ASCIIHexDecode":
            digits = b"".join(raw.split()).removesuffix(b">")
            return binascii.unhexlify(digits + b"0" * (len(digits) % 2))
        packed = zlib.decompressobj()
        limit = budget.left("bytes of content")
        result = packed.decompress(raw, limit + 1)
    except (zlib.error, ValueError, binascii.Error):
        raise damaged("does not unpack") from None
    if len(result) > limit:
        raise too_much(budget.name, "bytes of content", limits.MAX_STREAM_BYTES)
    if raw and not packed.eof:  # an empty page may be packed as nothing
        raise damaged("breaks off")
    return result
