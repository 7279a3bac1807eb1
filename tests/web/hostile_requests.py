"""Requests that nobody means well with: a name, the request, and which answers are right.

Each family is a function that yields rows; a further request is a further line.
"""

from dataclasses import dataclass, field
from urllib.parse import quote, urlencode

LINES = 60_000


@dataclass(frozen=True)
class Row:
    name: str
    path: str = "/"
    statuses: tuple = (400,)
    method: str = "GET"
    headers: dict = field(default_factory=dict)
    body: bytes | None = None


def paths():
    for path in (
        "/../../etc/passwd", "/..%2f..%2fetc/passwd", "/static/../application.py", "/static/..%2fapplication.py",
        "/static/%2e%2e/application.py", "/static//etc/passwd", "/static/page.css/", "/static/.", "/static/..",
        "/static/page.css%00.js", "/static/" + "a" * 5_000, "/page/0x1.svg", "/page/-1.svg", "/page/1.5.svg",
        "/page/" + "9" * 400 + ".svg.svg", "/picture/", "/picture/../sheet.png", "/picture/sheet.png/x",
        "/admin", "/.git/config", "/.env", "/wp-login.php", "/%ff%fe", "/%00", "/\\..\\..\\windows", "/~root",
        "/names/x", "/keep/../keep", "/take.", "/take", "/live/", "///etc/passwd", "/;/", "/console", "/cgi-bin/sh",
    ):  # fmt: skip
        yield Row(f"path {path[:30]}", path, (400, 404, 405))
    for path in ("/page/0.svg", "/page/2.svg", "/page/99999999999999999999.svg"):
        yield Row(f"no such page {path[:20]}", path + "?need=sheet", (400,))
    for kind in ("boat", "..", "%2e%2e", "sheet%00", "é"):
        yield Row(f"picture of {kind}", f"/picture/{quote(kind, safe='%')}.png", (400, 404))
    for ending in ("exe", "html", "pdf%00", "../pdf", "toml", "woff2", "eps", "PDF"):
        yield Row(f"taken as {ending}", f"/take.{ending}?need=sheet", (400, 404))


def values():
    numbers = ("nan", "inf", "-1", "1e309", "9" * 5_000, "0x10", "1e-400", "--1", "1,2,3", "1 2", "٣", "½", "1;drop",
               "", " ", "1e99999999999", "0", "1mmm", "12in in", "${7*7}", "{{7*7}}", "%n")  # fmt: skip
    for number in numbers:
        text = quote(number)
        for key in ("down", "x"):
            given = {"down": f"down={text}&hair=0.1", "x": f"x={text}"}[key]
            yield Row(f"{key} {number[:12]!r}", f"/live?{given}", (200,) if not number.strip() else (400,))
    for key, text in [("tip", "x"), ("angle", "1e9"), ("samples", "1.5"), ("samples", "9" * 30), ("found", "-2"),
                      ("name", "../../x"), ("name", "A B"), ("measured", "x" * 300), ("label", "x" * 300),
                      ("hair_sd", "nan"), ("angle", "-1")]:  # fmt: skip
        tip = "broad" if key == "angle" else "brush"
        yield Row(f"{key} {text[:12]}", f"/live?down=2&hair=0.3&{urlencode({'tip': tip, key: text})}")
    for key, text in [("hand", "/etc"), ("hand", "../joined"), ("hand", "./my-hand"), ("paper", "1x1mm"), ("paper", "a4/../a5"),
                      ("paper", "9e9x9e9mm"), ("paper", "x" * 3_000), ("need", "__class__"), ("need", "demo"),
                      ("also", "down=1"), ("also", "|||"), ("also", "down=nan|hair=1"), ("known", "../../x"), ("at", "x")]:  # fmt: skip
        given = {"need": "compare"} if key == "also" else {}
        yield Row(f"{key} {text[:12]}", f"/?{urlencode({**given, key: text})}")
    for key, text in [("margin_mm", "1e9"), ("margin_mm", "-1"), ("proof", "no"), ("credit", "x" * 500), ("row_count", "0"),
                      ("row_count", "99999"), ("row_gap_mm", "nan")]:  # fmt: skip
        yield Row(f"sheet {key} {text[:10]}", f"/?need=sheet&{urlencode({key: text})}")
    for text in ("\u202e", "\x00", "\x1b[2J", "\ud83d".encode("utf-8", "surrogatepass"), "☃☃☃", "x" * 2_500):
        yield Row(f"text {text[:6]!r}", f"/?need=write&{urlencode({'text': text})}", (400,))
    yield Row("names that are none", "/names?need=worksheet", (400,), "POST", body=b"names=")
    yield Row("a bomb of names", "/names?need=worksheet", (400,), "POST", body=b"names=" + b"a%0A" * 9_000)
    yield Row("a name the hand lacks", "/names?need=worksheet", (400,), "POST", body=urlencode({"names": "☃"}).encode())


def encodings():
    for text in ("%ff", "%c3%28", "%80", "%ed%a0%80", "%f8%a1%a1%a1%a1", "%"):
        statuses = (400,) if text != "%" else (200, 400)
        yield Row(f"escaped {text}", f"/?label={text}&down=2&hair=1", statuses)
    yield Row("bytes as they are", "/?label=\xe9".encode("latin-1").decode("latin-1"), (200, 400))
    yield Row("many pairs", "/?" + "&".join(f"a{n}=1" for n in range(900)), (400,))
    yield Row("a long address", "/?label=" + "a" * 12_000, (400, 414))
    yield Row("a longer one", "/?label=" + "a" * 200_000, (400, 414, 431))
    yield Row("only signs", "/?&&&===&;&", (200, 303))


def hosts():
    for host in ("evil.example", "localhost.evil.example", "127.0.0.1.evil.example", "127.0.0.2", "0.0.0.0", "", "localhost:x",
                 "localhost:80:80", "[::1", "::1", "user@localhost", "localhost@evil.example", "localhost/", "LOCALHOST.",
                 "2130706433", "0x7f000001", "localhost:999999", "evil.example:80", "%6cocalhost", "localhost evil"):  # fmt: skip
        yield Row(f"host {host}", "/", (400, 421), headers={"Host": host})
    for host in ("localhost", "LOCALHOST:8017", "127.0.0.1:1", "[::1]:80", "[::1]"):
        yield Row(f"host of ours {host}", "/static/page.css", (200,), headers={"Host": host})


def origins():
    keep = b"label=Evil&down=2&hair=0.3&tip=brush"
    for origin in ("https://evil.example", "null", "http://localhost.evil.example", "file://", "http://127.0.0.1.evil.example",
                   "http://evil.example@127.0.0.1", "x", "http://[::1", "http://127.0.0.1:1@evil.example"):  # fmt: skip
        for path, method, body in (("/keep", "POST", keep), ("/live", "GET", None)):
            yield Row(f"{path} from {origin}", path, (403,), method, {"Origin": origin}, body)
    for site in ("cross-site", "same-site", "none"):
        yield Row(f"keep from {site}", "/keep", (403,), "POST", {"Sec-Fetch-Site": site}, keep)


def methods():
    for method in ("POST", "PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "PROPFIND", "BREW"):
        yield Row(f"{method} /", "/", (400, 405, 501), method, body=b"" if method != "TRACE" else None)
    for path in ("/keep", "/names"):
        yield Row(f"GET {path}", path, (405,))


def bodies():
    text = b"label=" + b"a" * 10_000_000
    yield Row("10 MB to keep", "/keep", (413,), "POST", body=text)
    yield Row("10 MB of names", "/names?need=worksheet", (413,), "POST", body=text)
    yield Row("10 MB nowhere", "/", (405, 413), "POST", body=text)
    yield Row("a length that lies", "/keep", (400, 413), "POST", {"Content-Length": "99999999999"}, b"x")
    yield Row("no number for a length", "/keep", (400,), "POST", {"Content-Length": "ten"}, b"x")
    yield Row("a negative length", "/keep", (400,), "POST", {"Content-Length": "-5"}, b"x")
    yield Row("another type", "/keep", (400, 415), "POST", {"Content-Type": "application/json"}, b'{"down": 1}')
    yield Row("broken parts", "/names?need=worksheet", (400,), "POST",
              {"Content-Type": "multipart/form-data; boundary=x"}, b"--x\r\nbroken")  # fmt: skip
    yield Row("parts without a boundary", "/names?need=worksheet", (400,), "POST",
              {"Content-Type": "multipart/form-data"}, b"--")  # fmt: skip
    yield Row("many fields", "/names?need=worksheet", (400, 413), "POST", body=b"&".join(b"a=1" for _ in range(9_000)))
    yield Row("a huge header", "/", (400, 431), headers={"X-A": "a" * 40_000})
    yield Row("odd ranges", "/static/page.css", (200, 206, 416), headers={"Range": "bytes=9-1,-1,0-"})
    yield Row("odd tags", "/static/page.css", (200,), headers={"If-None-Match": '"' * 999})
    yield Row("odd languages", "/", (200,), headers={"Accept-Language": "x;q=9,,;;q=," * 20})
    yield Row("odd encodings", "/static/page.css", (200,), headers={"Accept-Encoding": "gzip;q=nan,*;q=0,x" * 20})


ROWS = tuple(
    row for family in (paths, values, encodings, hosts, origins, methods, bodies) for row in family()
)
