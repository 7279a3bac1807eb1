"""What the page answers: the same bytes as the commands, tags and lifetimes, one sentence for what is wrong."""

import base64
import gzip
import html
import json
import re
from functools import partial
from urllib.parse import parse_qs, urlencode, urlsplit

import psutil
import pytest
from running import Running
from sample_pages import strokes_page, written_page

COBBLE = {"label": "Cobble, medium brush", "tip": "brush", "down": "3.2", "hair": "0.6"}
QUAY = {"label": "Quay", "tip": "broad", "down": "2.5", "hair": "0.25", "angle": "35"}


def query(**values):
    return urlencode({**COBBLE, **values})


def test_the_page_does_its_job_in_one_answer(server):
    answer = server.ask("/")
    assert answer.status == 200
    for words in ("Which marker?", "How large?", "What do you need?", "x-height, the right size", "Cobble", "Slate"):
        assert words in answer.text
    policy = answer.headers["content-security-policy"].split(";")
    assert policy[0] == "default-src 'self'"
    assert "style=" not in answer.text
    assert not re.findall(r"""(?:src|href|action)=["'](?:https?:)?//""", answer.text)


COMMANDS = [
    ("sheet cobble -o made.pdf", query(need="sheet")),
    ("sheet cobble --paper letter --landscape --margin 15 --proof full -o made.svg",
     query(need="sheet", paper="letter", landscape="1", margin_mm="15", proof="full")),
    ("sheet cobble --x-height 11.3 --hand lively -o made.svg", query(need="sheet", x="11.3", hand="lively")),
    ("letter cobble --char g --paper a4 -o made.svg", query(need="letter", char="g")),
    ("letter cobble --char e --paper a4 -o made.dxf", query(need="letter")),
    ("worksheet cobble --letters ae --arrows -o made.pdf",
     query(need="worksheet", practise="letters", letters="ae", arrows="1")),
    ("worksheet cobble --drills -o made.pdf", query(need="worksheet", practise="drills")),
    ("write cobble tide -o made.svg", query(need="write", text="tide")),
    ("write cobble tide --for cut --bridges 2 -o made.dxf", query(need="cut", text="tide", bridges_mm="2")),
    ("write cobble tide -o made.eps", query(need="write", text="tide")),
    ("write cobble tide --for print --spot Harbour --output-intent FOGRA52 --pdfx x-1a -o made.pdf",
     query(need="print", text="tide", spot="Harbour", output_intent="FOGRA52")),
    ("plan cobble tide --align center -o made.pdf", query(need="plan", text="tide", align="center")),
    ("planner cobble --size 1404x1872 --theme pine --letters a-c -o made.pdf",
     query(need="planner", size_px="1404x1872", theme="pine", letters="a-c")),
    ("swatch cobble --letters -o made.svg", query(need="written")),
    ("trial --from 4 --to 7 -o made.png", query(need="trial", from_mm="4", to_mm="7")),
]  # fmt: skip


@pytest.mark.parametrize(("command", "asked"), COMMANDS, ids=[command for command, _ in COMMANDS])
def test_what_is_taken_is_what_the_command_writes(command, asked, server, cli, home):
    assert cli(*command.split(" ")).code == 0
    (made,) = home.iterdir()
    same = server.ask(f"/take.{made.suffix[1:]}?{asked}").body == made.read_bytes()
    assert same  # not in one step: to show how files differ takes pytest minutes


def test_several_markers_and_pages_are_as_the_command_writes_them(server, cli, home):
    assert cli("compare", "cobble", "pebble", "grit", "-o", "made.svg").code == 0
    pebble = "label=Pebble, small brush|tip=brush|down=1.6|hair=0.35"
    grit = "label=Grit, fine brush|tip=brush|down=0.9|hair=0.25"
    asked = query(need="compare") + "&" + urlencode([("also", pebble), ("also", grit)])
    assert server.ask(f"/take.svg?{asked}").body == (home / "made.svg").read_bytes()
    assert cli("worksheet", "cobble", "high tide", "-o", "two.svg").code == 0
    for page in (1, 2):
        taken = server.ask(f"/take.svg?{query(need='worksheet', page=page)}")
        assert taken.body == (home / f"two-{page}.svg").read_bytes()
        assert server.ask(f"/page/{page}.svg?{query(need='worksheet')}").body == taken.body
        assert taken.headers["content-disposition"] == f'attachment; filename="worksheet-cobble-{page}.svg"'


def test_a_font_and_a_profile_are_as_the_commands_write_them(server, cli, home):
    assert cli("add", "flint-two", "--tip", "round", "--downstroke", "0.8", "-o", "flint-two.toml").code == 0
    asked = urlencode({"name": "flint-two", "label": "Flint two", "tip": "round", "down": "0.8", "need": "font"})
    assert server.ask(f"/marker.toml?{asked}").body == (home / "flint-two.toml").read_bytes()
    assert cli("font", "flint-two.toml", "-o", "made.ttf").code == 0
    assert server.ask(f"/take.ttf?{asked}").body == (home / "made.ttf").read_bytes()


def test_answers_carry_tags_and_lifetimes_and_are_not_made_again(server):
    path = f"/page/1.svg?{query(need='sheet')}"
    first = server.ask(path)
    tag = first.headers["etag"]
    assert not tag.startswith("W/")
    assert "max-age" in first.headers["cache-control"]
    again = server.ask(path, If_None_Match=tag)
    assert (again.status, again.body, again.headers["etag"]) == (304, b"", tag)
    packed = server.ask(path, Accept_Encoding="gzip")
    assert packed.headers["etag"] != tag
    assert gzip.decompress(packed.body) == first.body
    assert server.ask(path, If_None_Match=packed.headers["etag"]).status == 200
    build = re.search(r"build=(\w+)", server.ask("/").text)[1]
    assert "immutable" in server.ask(f"{path}&build={build}").headers["cache-control"]


def test_what_is_chosen_stands_in_the_address_by_widths_and_not_by_name(server):
    answer = server.ask("/?known=slate&at=largest&need=sheet&x=&title=")
    assert answer.status == 303
    found = parse_qs(urlsplit(answer.headers["location"]).query)
    assert (found["down"], found["hair"], found["angle"], found["need"]) == (["3"], ["0.3"], ["40"], ["sheet"])
    assert "known" not in found
    assert 20 < float(found["x"][0]) <= 21
    assert server.ask("/" + answer.headers["location"].removeprefix("./")).status == 200


def test_first_view_is_small(server):
    """Everything a browser loads for the first view, packed: under 100 kB."""
    page = server.ask("/", Accept_Encoding="gzip")
    text = gzip.decompress(page.body).decode()
    paths = set(re.findall(r'(?:src|href)="((?:static|picture)/[^"]+)"', text))
    paths |= {"static/visits.js", "static/scale.js"}
    sizes = {path: len(server.ask("/" + path.replace("&amp;", "&"), Accept_Encoding="gzip").body) for path in paths}
    assert len(sizes) > 10
    assert len(page.body) + sum(sizes.values()) < 100_000, sizes


def test_a_marker_is_kept_only_when_nothing_is_in_its_place(server):
    body = urlencode({**QUAY, "need": "sheet"}).encode()
    kept = server.folder / "config" / "guidegen" / "markers" / "quay.toml"
    assert server.ask("/keep", "POST", body).status == 200
    assert "nib_angle_deg = 35" in kept.read_text()
    again = server.ask("/keep", "POST", body)
    assert again.status == 400
    assert "exists already" in again.text
    assert server.ask("/keep", "POST", body + b"&replace=1").status == 200
    assert "Quay" in server.ask("/").text
    kept.unlink()


def test_names_of_pupils_stand_in_no_address_and_make_the_commands_pages(server, cli, home):
    (home / "names.txt").write_text("Ada\nTom\n")
    assert cli("worksheet", "cobble", "--names", "names.txt", "-o", "made.pdf").code == 0
    answer = server.ask(f"/names?{query(need='worksheet')}", "POST", urlencode({"names": "Ada\r\nTom\r\n"}).encode())
    assert answer.body == (home / "made.pdf").read_bytes()
    assert answer.headers["cache-control"] == "no-store"


def picture_body(data, called):
    """A form with a file in it, as RFC 7578 has it."""
    parts = [b'name="photo"; filename="p.png"\r\nContent-Type: image/png\r\n\r\n' + data]
    parts += [b'name="called"\r\n\r\n' + called.encode()]
    return b"".join(b"--x\r\nContent-Disposition: form-data; " + part + b"\r\n" for part in parts) + b"--x--\r\n"


def test_a_photo_is_measured_as_the_command_does_and_forgotten(server, cli, home):
    """The page that was drawn on is simulated: strokes of 2.4 and 0.5 mm."""
    data = strokes_page()
    (home / "page.png").write_bytes(data)
    told = json.loads(cli("measure", "page.png", "--name", "tide-pen", "-o", "tide-pen.toml", "--json").out)
    before = sorted(server.folder.rglob("*"))
    form = {"Content_Type": "multipart/form-data; boundary=x", "Accept": "text/html"}
    answer = server.ask("/measure?need=letter", "POST", picture_body(data, "Tide pen"), **form)
    assert answer.status == 200
    link = parse_qs(html.unescape(re.search(r'data-link="\./\?([^"]+)"', answer.text)[1]))
    assert float(link["down"][0]) == pytest.approx(told["downstroke_mm"], abs=1e-4)
    assert float(link["hair"][0]) == pytest.approx(told["hairline_mm"], abs=1e-4)
    assert (link["label"], link["need"]) == (["Tide pen"], ["letter"])
    assert f"Pressed it draws {told['downstroke_mm']:.2f} mm" in re.search(r'id="said"[^>]*>([^<]+)<', answer.text)[1]
    assert "/proc/" not in answer.text
    german = server.ask("/measure", "POST", picture_body(data, "Tide pen"), Accept_Language="de", **form)
    said = re.search(r'id="said"[^>]*>([^<]+)<', german.text)[1]
    assert f"Mit Druck zeichnet er {told['downstroke_mm']:.2f} mm".replace(".", ",") in said
    assert "Maßstab: nach Angabe des Scans" in said
    assert not re.search("Pressed|Scale|coded|assumed", said)
    refused = server.ask("/measure", "POST", picture_body(b"no picture", "x"), **form)
    assert refused.status == 400
    assert "Picture: found a damaged picture" in refused.text or "Picture: found no picture" in refused.text
    assert sorted(server.folder.rglob("*")) == before


PEBBLE = urlencode({"label": "Pebble, small brush", "tip": "brush", "down": "1.6", "hair": "0.35", "need": "sheet"})
FORM = {"Content_Type": "multipart/form-data; boundary=x", "Accept": "text/html"}


def test_letters_are_judged_as_the_command_does_and_forgotten(server, cli, home):
    """Written as pebble's hand has it, so its white is as wide as its downstroke."""
    data = written_page(5)
    (home / "p.png").write_bytes(data)
    told = json.loads(cli("check", "p.png", "--marker", "pebble", "--report", "p.jpg", "--json").out)
    before = sorted(server.folder.rglob("*"))
    answer = server.ask(f"/check?{PEBBLE}", "POST", picture_body(data, ""), **FORM)
    assert answer.status == 200
    assert answer.headers["cache-control"] == "no-store"
    shown = answer.text.split('id="checked"')[1].split("</section>")[0]
    assert f"<strong>{told['verdict']}</strong>" in shown
    assert f"is {told['ratio']:.2f} times as wide" in shown
    assert f"{told['letters']} letters measured" in shown
    picture = re.search(r'src="data:image/jpeg;base64,([^"]+)"', shown)[1]
    same = base64.b64decode(picture) == (home / "p.jpg").read_bytes()
    assert same
    assert "/proc/" not in answer.text
    assert sorted(server.folder.rglob("*")) == before


@pytest.mark.parametrize(
    ("step", "data", "words"),
    [
        ("check", b"no picture", "Picture: found no picture"),
        ("check", b"", "Picture: found nothing"),
        ("check", strokes_page, "“Page to write on” prints the page to write on"),
        ("measure", partial(written_page, 5), "“Or check letters you have written” reads letters"),
    ],
)
def test_a_picture_that_will_not_do_is_told_where_it_was_chosen(server, step, data, words):
    body = picture_body(data() if callable(data) else data, "x")
    answer = server.ask(f"/{step}?{PEBBLE}", "POST", body, **FORM)
    assert answer.status == 400
    problem = html.unescape(re.search(r'class="problem" role="alert">([^<]+)<', answer.text)[1])
    assert words in problem
    assert "guidegen" not in problem
    assert 'value="Pebble, small brush"' in answer.text  # nothing that was chosen is lost
    assert 'id="result"' in answer.text


def test_a_plan_that_does_not_fit_says_what_would(server, cli):
    text = "high tide at noon"
    told = json.loads(cli("plan", "cobble", text, "--paper", "a6", "--json").out)
    assert not told["fits"]
    answer = server.ask(f"/?{query(need='plan', text=text, paper='a6')}")
    assert answer.status == 200
    assert "It does not fit on A6." in answer.text
    assert "Grit, fine brush" in answer.text or "Pebble, small brush" in answer.text
    assert f"{told['fitting_x_height_mm']:.1f} mm" in answer.text
    assert 'class="takes"' not in answer.text
    assert server.ask(f"/take.pdf?{query(need='plan', text=text, paper='a6')}").status == 400


def test_public_writes_nothing_and_answers_to_its_name(public):
    assert public.ask("/keep", "POST", urlencode(QUAY).encode()).status == 403
    page = public.ask("/", Host="letters.school.example")
    assert page.status == 200
    assert 'formaction="keep"' not in page.text
    assert not [path for path in public.folder.rglob("*") if path.is_file()]


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/?down=abc&hair=1", "Downstroke: found 'abc', expected a length"),
        ("/?down=2&hair=3", "expected at most Downstroke, which is 2"),
        ("/?x=0", "x-height: found '0', expected a height"),
        ("/?paper=a44", "Paper: found 'a44'"),
        ("/?need=boat", "expected one of sheet"),
        (f"/?{query(need='sheet', paper='30x30mm')}", "leave no room on 30 × 30 mm"),
        ("/?hand=/etc", "Hand: found '/etc'"),
    ],
)
def test_what_is_wrong_is_told_in_a_sentence(server, path, words):
    answer = server.ask(path, Accept="text/html")
    assert answer.status == 400
    assert words in answer.text.replace("&#39;", "'")
    assert "`" not in answer.text


def test_a_port_that_is_taken_is_told_in_a_line(server, cli_process):
    result = cli_process("serve", "--port", server.port)
    assert result.code == 2
    assert result.line.startswith(f"--port: found {server.port}, taken already")


def test_a_stopped_server_leaves_no_process_behind(tmp_path):
    running = Running(tmp_path)
    running.ask("/live")
    family = psutil.Process(running.process.pid).children(recursive=True)
    assert family
    assert running.stop() == 0
    _, alive = psutil.wait_procs(family, timeout=10)
    assert alive == []
