"""The WSGI app: addresses to answers. What takes work is done in processes; here are only the ways to it."""

from __future__ import annotations

import gzip
import hashlib
import io
import logging
import os
import re
from collections.abc import Callable, Iterable, Mapping
from functools import cache, partial
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from flask import Flask, Request, Response, redirect, render_template, request
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge
from werkzeug.http import parse_etags

from guidegen import __version__
from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.hands.library import load_marker
from guidegen.hands.own import keep_marker, own_markers
from guidegen.jobs import PoolBusyError, TaskEndedError, TaskFailedError, Workers
from guidegen.profiles.markers import TIPS, Marker, marker_to_toml
from guidegen.sheets.parts.phrases import ENGLISH, Phrases, language_names
from guidegen.web.address import LONGEST_ADDRESS, Address, name_of, read_address
from guidegen.web.found import Judged, Made, Sample
from guidegen.web.kept import Kept
from guidegen.web.kinds import KINDS
from guidegen.web.settings import ServeSettings
from guidegen.web.view import View, in_fields, markers_of
from guidegen.web.words import page_languages, words

_HERE = Path(__file__).parent
_LOG = logging.getLogger("guidegen.web")
_YEAR_S, _HOUR_S = 31_536_000, 3_600
_RETRY_S = 2
MOST_BODY_BYTES = 64_000
_LONGEST_FILE_NAME = 60
MOST_PHOTO_BYTES = 16_000_000
_TAKE_PHOTOS = {"/measure", "/check"}
_USUAL_MARKER = "cobble"
_TYPES = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "png": "image/png",
    "dxf": "image/vnd.dxf",
    "eps": "application/postscript",
    "ttf": "font/ttf",
    "otf": "font/otf",
    "woff2": "font/woff2",
    "toml": "application/toml",
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
}
_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; frame-ancestors 'none'; form-action 'self'; base-uri 'none'; object-src 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}
_ASSET = re.compile(rb"""((?:from |url\()"[./a-z0-9]++)\"""")
"""Where one file of the page names another: it takes this build's, however long the last one's is kept."""
_ENDINGS = {"late": 422, "memory": 422, "died": 503}


@cache
def build() -> str:
    """Return a name for this very program: what it makes of an address may change with any of its files."""
    digest = hashlib.sha256(__version__.encode())
    from guidegen.hands.library import templates_folder

    package = _HERE.parent
    for folder in (package, templates_folder()):
        for path in sorted(folder.rglob("*")):
            if path.is_file() and path.suffix in {".py", ".toml", ".html", ".css", ".js", ".json"}:
                digest.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:12]


class InMemoryRequest(Request):
    """A request whose files never touch a disk."""

    def _get_file_stream(self, *_args: Any, **_named: Any) -> Any:
        return io.BytesIO()


class Served:
    """One running page: its settings, its processes and what they found before."""

    def __init__(self, settings: ServeSettings) -> None:
        self.settings = settings
        self._kept = Kept(settings.kept_bytes)
        self._workers: tuple[int, Workers] | None = None

    @property
    def workers(self) -> Workers:
        """The processes, started when they are first needed; a copy of this process has its own."""
        if self._workers is None or self._workers[0] != os.getpid():
            how = self.settings
            os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # arrays are small, and each thread claims memory
            made = Workers(
                "guidegen.web.work:do",
                processes=how.processes,
                waiting=how.waiting,
                seconds=how.seconds,
                megabytes=how.megabytes,
            )
            self._workers = (os.getpid(), made)
        return self._workers[1]

    def close(self) -> None:
        """End the processes."""
        if self._workers is not None:
            self._workers[1].close()

    def done(self, task: str, *arguments: Any) -> Any:
        """Return what a task makes of its arguments, kept from before or made now."""
        key = (task, *(argument.query() if isinstance(argument, Address) else argument for argument in arguments))
        return self._kept.get(key, partial(self.workers.run, task, *arguments), _size)

    def known(self) -> list[Marker]:
        """Return the markers to choose from: those that ship and, on one's own computer, one's own."""
        how = self.settings
        folders = [folder for folder in (how.markers_folder, None if how.public else own_markers()) if folder]
        return markers_of(folders)

    def address(self, pairs: Iterable[tuple[str, str]]) -> Address:
        """Return what an address says."""
        return read_address(pairs, shipped(), load_marker(_USUAL_MARKER), _say()("web.own"))


@cache
def shipped() -> tuple[Marker, ...]:
    """Return the markers that ship."""
    return tuple(markers_of([]))


def _size(found: Any) -> int:
    if isinstance(found, Made | Sample):
        return found.size
    return 500 + len(found[1] if isinstance(found, tuple) else found)


def make_app(settings: ServeSettings) -> Flask:
    """Return the app. Its processes start with the first request that needs them."""
    app = Flask("guidegen.web", root_path=str(_HERE), static_folder=None, template_folder="pages")
    app.request_class = InMemoryRequest
    app.config["MAX_CONTENT_LENGTH"] = MOST_BODY_BYTES
    app.config["MAX_FORM_MEMORY_SIZE"] = 4 * MOST_BODY_BYTES  # a photo passes in pieces of a quarter of it
    app.url_map.merge_slashes = False
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    served = Served(settings)
    app.extensions["guidegen"] = served
    app.before_request(partial(_guard, settings))
    app.after_request(_headed)
    app.register_error_handler(Exception, _problem)
    for rule, function, methods in _ROUTES:
        app.add_url_rule(rule, function.__name__, partial(function, served), methods=methods)
    return app


def _guard(settings: ServeSettings) -> Response | None:
    """Refuse what is not meant for this page, before anything is looked at."""
    if not settings.answers_to(request.headers.get("Host", "")):
        return _sentence("web.wrong_host", 421)
    origin = request.headers.get("Origin")
    if origin is not None and not settings.answers_to(urlsplit_host(origin)):
        return _sentence("web.wrong_origin", 403)
    if request.method not in {"GET", "HEAD"} and request.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
        return _sentence("web.wrong_origin", 403)
    if request.path in _TAKE_PHOTOS:
        request.max_content_length = MOST_PHOTO_BYTES
    if len(request.query_string) > LONGEST_ADDRESS:
        return _sentence("web.too_long", 414)
    return None


def urlsplit_host(origin: str) -> str:
    """Return the host of an origin, with its port; "" for none."""
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return ""


def _headed(response: Response) -> Response:
    for name, value in _HEADERS.items():
        response.headers.setdefault(name, value)
    response.headers.setdefault("Cache-Control", "no-store")
    return response


def _problem(error: Exception) -> Response:
    """Answer with one sentence; what else there is to say goes to the log."""
    if isinstance(error, GuidegenError):
        return _told(in_fields(str(error), _say()), 400)
    if isinstance(error, PoolBusyError):
        response = _sentence("web.busy", 503)
        response.headers["Retry-After"] = str(_RETRY_S)
        return response
    if isinstance(error, TaskEndedError):
        _LOG.warning("ended (%s): %s", error.why, request.path)
        response = _sentence(f"web.{error.why}", _ENDINGS[error.why])
        if response.status_code == 503:
            response.headers["Retry-After"] = str(_RETRY_S)
        return response
    if isinstance(error, RequestEntityTooLarge):
        return _sentence("web.too_long", 413)
    if isinstance(error, HTTPException):
        key = {404: "web.no_page", 405: "web.not_allowed"}.get(error.code or 500, "web.bad_request")
        response = _sentence(key, error.code or 500)
        if error.code == 405:
            response.headers["Allow"] = ", ".join(getattr(error, "valid_methods", None) or ())
        return response
    detail = str(error) if isinstance(error, TaskFailedError) else ""
    _LOG.error("a defect at %s %s", request.path, detail, exc_info=None if detail else error)
    return _sentence("web.defect", 500)


def _sentence(key: str, status: int) -> Response:
    return _told(_say()(key), status)


def _told(sentence: str, status: int) -> Response:
    """Return an answer that is one sentence: on a page for a person, as plain text for a script or a picture."""
    if request.path == "/live" or not request.accept_mimetypes.accept_html:
        return Response(sentence + "\n", status, mimetype="text/plain")
    return Response(render_template("problem.html", say=_say(), sentence=sentence), status, mimetype="text/html")


def _pairs() -> list[tuple[str, str]]:
    """Return the pairs of the address.

    Raises:
        GuidegenError: text that is not UTF-8, or too many pairs.
    """
    try:
        return parse_qsl(
            request.query_string.decode("ascii"), keep_blank_values=True, errors="strict", max_num_fields=120
        )
    except ValueError:
        raise bad_input("address", "", request.query_string[:60].decode("latin-1"), "pairs of UTF-8 text") from None


def _page(served: Served) -> Any:
    pairs = _pairs()
    last = dict(pairs)
    address = served.address(pairs)
    if known := last.get("known"):
        address = _with_known(served, address, known)
    if place := last.get("at"):
        address = _at(served, address, place)
    if known or place or any(value == "" for _, value in pairs):
        return redirect("./?" + View.link(address), 303)
    return _whole_page(served, address, last.get("version", ""))


def _with_known(served: Served, address: Address, name: str) -> Address:
    marker = next((one for one in served.known() if one.name == name), None)
    if marker is None:
        raise bad_input("`known`", "", name, "one of the known markers")
    hand = address.hand if not address.hand or marker.tip in address.style.tips else ""
    return address.but(marker=marker, hand=hand, x_height_mm=None)


def _at(served: Served, address: Address, place: str) -> Address:
    """Return the address with the x-height at a place of the band, a tenth of a mm inside it."""
    found: Sample = served.done("sample", address.but(x_height_mm=None))
    if found.problem or place == "right":
        return address.but(x_height_mm=None)
    ends = {"smallest": -(-found.smallest_mm // 0.1) / 10, "largest": (found.largest_mm // 0.1) / 10}
    if place not in ends:
        raise bad_input("`at`", "", place, "smallest, right or largest")
    return address.but(x_height_mm=round(ends[place], 1))


def _language() -> str:
    """Return the language of the page: the one in the address, else the browser's."""
    asked = request.args.get("language", "")
    return asked if asked in page_languages() else request.accept_languages.best_match(page_languages()) or ENGLISH


def _say() -> Phrases:
    return words(_language())


def _whole_page(
    served: Served,
    address: Address,
    version: str = "",
    note: str = "",
    status: int = 200,
    judged: Judged | None = None,
    refused: Mapping[str, str] | None = None,
) -> Response:
    """Answer with the page; ``refused`` says by the step's name what was wrong with what was sent there."""
    if not address.language and _language() in language_names() and _language() != ENGLISH:
        address = address.but(language=_language())
    sample: Sample = served.done("sample", _of_size(address))
    made, problem = None, ""
    if address.kind:
        try:
            made = served.done("shown", address)
        except GuidegenError as error:
            problem, status = in_fields(str(error), _say()), 400
        except TaskEndedError as error:
            problem, status = _say()(f"web.{error.why}"), _ENDINGS[error.why]
    view = View(
        address, sample, made, problem, served.known(), _say(), build(),
        public=served.settings.public, judged=judged, refused=refused or {},
    )  # fmt: skip
    other = version if version not in {"", __version__} else ""
    html = render_template("page.html", view=view, say=view.say, note=note, made_by=other, here=__version__)
    cached = "public, max-age=300" if served.settings.public else "private, no-cache"
    cached = cached if request.method in {"GET", "HEAD"} else "no-store"
    return _tagged(html.encode(), "text/html; charset=utf-8", cached if status == 200 else "no-store", status)


def _of_size(address: Address) -> Address:
    """Return what the sample letter depends on, so that it is not drawn again when something else changes."""
    return address.but(need="", choices={}, also=(), language="")


def _live(served: Served) -> Response:
    """Answer with the letter and its numbers, in pieces of the page, while widths move."""
    address = served.address(_pairs())

    def make() -> bytes:
        sample: Sample = served.done("sample", _of_size(address))
        view = View(address, sample, None, "", (), _say(), build(), public=served.settings.public)
        return render_template("live.html", view=view, say=view.say).encode()

    return _answer(("live", _language(), _of_size(address).query()), make, "text/html; charset=utf-8")


def _svg(served: Served, number: int) -> Response:
    address = served.address(_pairs())

    def make() -> bytes:
        made: Made = served.done("shown", address)
        if not 1 <= number <= len(made.svgs):
            raise bad_input("`page`", "", number, f"a page from 1 to {len(made.svgs)}")
        return gzip.decompress(made.svgs[number - 1])

    return _answer(("svg", number, address.query()), make, _TYPES["svg"])


def _picture(served: Served, kind: str) -> Response:
    address = served.address(_pairs())
    if kind not in KINDS:
        raise bad_input("`need`", "", kind, "one of " + ", ".join(KINDS))
    others = tuple(one for one in shipped() if one.tip in address.style.tips and one.name != address.marker.name)[:3]
    plain = address.but(need=kind, choices={}, also=others, paper="a4", landscape=False, language="")

    def make() -> bytes:
        made: bytes = served.done("picture", plain)
        return made

    return _answer(("picture", plain.query()), make, _TYPES["png"])


def _take(served: Served, file_format: str) -> Response:
    address = served.address(_pairs())
    text = dict(_pairs()).get("page", "")
    page = int(text) if text.isdecimal() and len(text) < 5 else None
    if file_format not in _TYPES:
        raise bad_input("`format`", "", file_format, "one of " + ", ".join(_TYPES))

    def make() -> tuple[str, bytes]:
        made: tuple[str, bytes] = served.done("file", address, file_format, page)
        return made

    return _answer(("file", file_format, page, address.query()), make, _TYPES[file_format])


def _marker_file(served: Served) -> Response:
    marker = served.address(_pairs()).marker
    key = ("toml", served.address(_pairs()).but(need="").query())
    return _answer(key, lambda: (f"{marker.name}.toml", marker_to_toml(marker).encode()), _TYPES["toml"])


def _keep(served: Served) -> Any:
    """Keep the marker in the person's own folder."""
    if served.settings.public:
        return _sentence("web.not_allowed", 403)
    pairs = [(key, value) for key, value in request.form.items(multi=True)]
    if not request.form.get("down"):
        raise bad_input("`down`", "", Plain("nothing"), "the width of the thickest stroke")
    address = served.address(pairs)
    path = keep_marker(address.marker, force=bool(request.form.get("replace")))
    return _whole_page(served, address, note=_say()("which.kept", path=path))


def _names(served: Served) -> Response:
    """Answer with practice sheets for pupils, whose names stand in no address and are not kept."""
    address = served.address(_pairs())
    names = tuple(line.strip() for line in request.form.get("names", "").splitlines() if line.strip())
    name, data = served.workers.run("names", address, names)
    return _download(Response(data, mimetype=_TYPES["pdf"]), name)


def _measure(served: Served) -> Response:
    """Answer with the page of the marker that a photo shows. It is held in memory and forgotten."""
    address = served.address(_pairs())
    label = request.form.get("called", "").strip() or _say()("web.own")
    tip = request.form.get("as_tip") or None
    if tip not in {None, *TIPS}:
        raise bad_input("`tip`", "", tip, "one of " + ", ".join(TIPS))
    language = _language() if _language() in language_names() else ENGLISH
    try:
        photo, _ = _photo()
        marker, told = served.workers.run("measured", photo, label, tip, name_of(label), language)
    except (GuidegenError, TaskEndedError) as error:
        return _refused(served, address, "measure", error)
    hand = address.hand if not address.hand or marker.tip in address.style.tips else ""
    return _whole_page(served, address.but(marker=marker, hand=hand, x_height_mm=None), note=" ".join(told))


def _check(served: Served) -> Response:
    """Answer with the page and what a photo of written letters says. It is held in memory and forgotten.

    The picture of the letters as they were measured stands in the answer itself, for it may have no address.
    """
    address = served.address(_pairs())
    try:
        photo, called = _photo()
        judged: Judged = served.workers.run("checked", photo, called, address)
    except (GuidegenError, TaskEndedError) as error:
        return _refused(served, address, "check", error)
    response = _whole_page(served, address, judged=judged)
    policy = _HEADERS["Content-Security-Policy"]
    response.headers["Content-Security-Policy"] = f"{policy}; img-src 'self' data:"
    return response


def _photo() -> tuple[bytes, str]:
    """Return the picture that was sent, and what its file is called.

    Raises:
        GuidegenError: there is none.
    """
    photo = request.files.get("photo")
    data = photo.read() if photo is not None else b""
    if photo is None or not data:
        raise bad_input("`photo`", "", Plain("nothing"), "a picture of the page that was drawn or written on")
    named = "".join(char for char in (photo.filename or "") if char.isprintable())
    return data, named.replace("\\", "/").rsplit("/", 1)[-1][-_LONGEST_FILE_NAME:].strip() or _say()("field.photo")


def _refused(served: Served, address: Address, step: str, error: Exception) -> Response:
    """Answer with the page as it was chosen, and at ``step`` the sentence that says what is wrong."""
    if isinstance(error, TaskEndedError):
        _LOG.warning("ended (%s): %s", error.why, request.path)
        return _whole_page(
            served, address, status=_ENDINGS[error.why], refused={step: _say()(f"web.{error.why}")}
        )
    return _whole_page(served, address, status=400, refused={step: in_fields(str(error), _say())})


def _static(served: Served, name: str) -> Response:
    if name == "face.woff2":
        return _answer(("face",), lambda: served.done("face"), _TYPES["woff2"])
    known = _assets()
    if name not in known:
        return _sentence("web.no_page", 404)
    return _answer(("static", name), lambda: known[name], _TYPES[name.rsplit(".", 1)[1]])


@cache
def _assets() -> dict[str, bytes]:
    """Return the files beside the templates, read once: no name in a request ever leads to a file."""
    named = f'\\1?build={build()}"'.encode()
    return {
        path.name: _ASSET.sub(named, path.read_bytes())
        for path in sorted((_HERE / "static").iterdir())
        if path.suffix[1:] in _TYPES
    }


def _answer(key: tuple[Any, ...], make: Callable[[], bytes | tuple[str, bytes]], content_type: str) -> Response:
    """Answer with what is a pure function of the address: its tag is known before it is made.

    The tag names the program, the question and the encoding, and so, as the same question always gives the same bytes,
    the bytes.
    """
    packed = _takes_gzip() and content_type.startswith(("text/", "image/svg", "application/toml"))
    tag = hashlib.sha256(repr((build(), key, packed)).encode()).hexdigest()[:32]
    fixed = request.args.get("build") == build()
    lifetime = f"public, max-age={_YEAR_S}, immutable" if fixed else f"public, max-age={_HOUR_S}"
    if tag in parse_etags(request.headers.get("If-None-Match")):
        return _with_tag(Response(status=304), tag, lifetime)
    made = make()
    name, data = made if isinstance(made, tuple) else ("", made)
    response = Response(gzip.compress(data, 5, mtime=0) if packed else data, content_type=content_type)
    if packed:
        response.headers["Content-Encoding"] = "gzip"
    return _with_tag(_download(response, name) if name else response, tag, lifetime)


def _tagged(data: bytes, content_type: str, lifetime: str, status: int) -> Response:
    """Answer with what also depends on this computer: its tag is made of its bytes."""
    packed = _takes_gzip()
    tag = hashlib.sha256(data + bytes([packed])).hexdigest()[:32]
    if status == 200 and tag in parse_etags(request.headers.get("If-None-Match")):
        return _with_tag(Response(status=304), tag, lifetime)
    response = Response(gzip.compress(data, 5, mtime=0) if packed else data, status, content_type=content_type)
    if packed:
        response.headers["Content-Encoding"] = "gzip"
    return _with_tag(response, tag, lifetime)


def _takes_gzip() -> bool:
    return request.accept_encodings["gzip"] > 0


def _with_tag(response: Response, tag: str, lifetime: str) -> Response:
    response.set_etag(tag)
    response.headers["Cache-Control"] = lifetime
    response.headers["Vary"] = "Accept-Encoding, Accept-Language"
    return response


def _download(response: Response, name: str) -> Response:
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


_ROUTES: tuple[tuple[str, Callable[..., Any], list[str]], ...] = (
    ("/", _page, ["GET"]),
    ("/live", _live, ["GET"]),
    ("/page/<int:number>.svg", _svg, ["GET"]),
    ("/picture/<kind>.png", _picture, ["GET"]),
    ("/take.<file_format>", _take, ["GET"]),
    ("/marker.toml", _marker_file, ["GET"]),
    ("/keep", _keep, ["POST"]),
    ("/names", _names, ["POST"]),
    ("/measure", _measure, ["POST"]),
    ("/check", _check, ["POST"]),
    ("/static/<name>", _static, ["GET"]),
)
