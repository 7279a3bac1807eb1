"""``demo`` on a scenario of three exhibits; README's own test runs the whole one."""

import base64
import re
import shlex
from html.parser import HTMLParser
from pathlib import Path

import pytest

from guidegen.api.jobs import Job
from guidegen.cli import scenario
from guidegen.cli.commands import COMMANDS
from guidegen.cli.scenario import Exhibit
from guidegen.hands.library import load_hand, load_marker, templates_folder

REPOSITORY = Path(__file__).resolve().parent.parent.parent
SHORT = [
    Exhibit("One", "sheet-slate", "A sheet & more", "sheet slate", Job("sheet", {"marker": "slate"}),
            files=("pdf", "svg"), ppi=30, gallery=True),
    Exhibit("One", "trial", "Several pages", "trial", Job("trial"), ppi=20),
    Exhibit("Two", "letter-flint", "No picture", "letter flint", Job("letter", {"marker": "flint"}), ppi=0),
]


class Page(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags, self.links, self.images = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        values = dict(attrs)
        self.links += [values["href"]] if "href" in values else []
        self.images += [values] if tag == "img" else []


@pytest.fixture
def short(monkeypatch):
    monkeypatch.setattr(scenario, "exhibits", lambda: SHORT)
    monkeypatch.setattr("guidegen.jobs.usable_processes", lambda: 1)


def test_the_index_shows_everything_and_needs_nothing_else(cli, short):
    assert cli("demo").out == "output/index.html\n"
    text = Path("output/index.html").read_text(encoding="utf-8")
    page = Page(text)
    assert page.links == ["sheet-slate.pdf", "sheet-slate.svg", "trial.pdf", "letter-flint.pdf"]
    assert all((Path("output") / link).is_file() for link in page.links)
    assert [image["alt"] for image in page.images] == ["A sheet & more", "Several pages"]
    for image in page.images:
        kind, data = image["src"].split(",")
        assert kind == "data:image/png;base64"
        assert base64.b64decode(data).startswith(b"\x89PNG")
    assert not {"script", "link", "iframe"} & set(page.tags)
    assert not re.search(r"https?:|url\(", text)
    assert "(4 pages)" in text
    for exhibit in SHORT:
        assert f"guidegen {exhibit.command}" in text


def test_it_is_the_same_every_time(cli, short):
    cli("demo", "-o", "a")
    cli("demo", "-o", "b")
    first = {path.relative_to("a"): path.read_bytes() for path in Path("a").rglob("*") if path.is_file()}
    second = {path.relative_to("b"): path.read_bytes() for path in Path("b").rglob("*") if path.is_file()}
    assert first == second


def test_an_earlier_run_is_only_replaced_when_asked(cli, short):
    cli("demo")
    Path("output/index.html").write_text("mine")
    result = cli("demo")
    assert result.code == 2
    assert "exists already" in result.line
    assert Path("output/index.html").read_text() == "mine"
    assert cli("demo", "--force").code == 0
    assert "mine" not in Path("output/index.html").read_text()


@pytest.mark.parametrize("name", ["sheet-slate.svg", "letter-flint.pdf", "pictures/trial-2.png", "anchor.svg"])
def test_no_file_of_somebody_else_is_replaced_unless_asked(cli, short, monkeypatch, name):
    anchor = Exhibit("Two", "anchor", "Ink", "", Job("ink", {}), files=(), drawing=("anchor.svg", ""))
    monkeypatch.setattr(scenario, "exhibits", lambda: [*SHORT, anchor])
    mine = Path("output") / name
    mine.parent.mkdir(parents=True)
    mine.write_text("mine")
    result = cli("demo")
    assert result.code == 2
    assert result.line.startswith(f"output/{name}: exists already")
    assert [path.read_text() for path in Path("output").rglob("*") if path.is_file()] == ["mine"]


def test_a_file_with_another_name_in_the_folder_does_not_matter(cli, short):
    Path("output/pictures").mkdir(parents=True)
    Path("output/pictures/trial-of-mine.png").write_text("mine")
    assert cli("demo").code == 0
    assert Path("output/pictures/trial-of-mine.png").read_text() == "mine"


def test_what_a_command_reads_and_writes_besides_its_file_is_in_the_folder(cli, monkeypatch):
    monkeypatch.setattr("guidegen.jobs.usable_processes", lambda: 1)
    told = [exhibit for exhibit in scenario.exhibits() if exhibit.drawing or exhibit.also]
    assert len(told) == 2
    monkeypatch.setattr(scenario, "exhibits", lambda: told)
    assert cli("demo", "-o", "here").code == 0
    for exhibit in told:
        name, text = exhibit.drawing or ("", "")
        assert not name or (name == exhibit.job.values["drawing"] and Path("here", name).read_text() == text)
        made = [*(f"{exhibit.name}.{ending}" for ending in exhibit.files), *exhibit.also]
        assert all(Path("here", name).is_file() for name in made)
        assert all(f'href="{name}"' in Path("here/index.html").read_text() for name in made)


def test_every_hand_has_a_specimen_with_all_markers_of_the_class_that_write_it(cli, monkeypatch):
    monkeypatch.setattr("guidegen.jobs.usable_processes", lambda: 1)
    told = [exhibit for exhibit in scenario.exhibits() if exhibit.job.make == "specimen"]
    assert [exhibit.name for exhibit in told] == ["specimen-joined", "specimen-italic", "specimen-print"]
    for exhibit in told:
        shown = {Path(path).stem for path in (exhibit.job.values["marker"], *exhibit.job.values.get("others", ()))}
        tips = load_hand(exhibit.name.removeprefix("specimen-")).tips
        assert shown == {name for name in scenario.MARKERS if load_marker(name).tip in tips}
    monkeypatch.setattr(scenario, "exhibits", lambda: told[2:])
    assert cli("demo", "-o", "here").code == 0
    page = Page(Path("here/index.html").read_text())
    assert page.links == ["specimen-print.pdf"]
    assert Path("here/specimen-print.pdf").read_bytes().startswith(b"%PDF")
    assert Path("here/gallery/specimen-print.png").read_bytes() == Path("here/pictures/specimen-print.png").read_bytes()
    assert "code" not in page.tags


def test_a_gallery_that_came_with_the_sources_stays_unless_forced(cli, short):
    Path("output/gallery").mkdir(parents=True)
    kept = Path("output/gallery/sheet-slate.png")
    kept.write_bytes(b"shipped")
    cli("demo")
    assert kept.read_bytes() == b"shipped"
    cli("demo", "--force")
    assert kept.read_bytes().startswith(b"\x89PNG")


def test_a_folder_that_is_a_file(cli, short):
    Path("output").write_text("mine")
    result = cli("demo")
    assert result.code == 2
    assert result.line == "output: found a file, expected a folder, or a name for a new one"


def test_the_scenario_is_well_formed_and_its_gallery_is_shipped():
    told = scenario.exhibits()
    assert len({exhibit.name for exhibit in told}) == len(told)
    assert {exhibit.command.split()[0] for exhibit in told if exhibit.command} <= set(COMMANDS)
    shipped = {path.stem for path in (REPOSITORY / "output" / "gallery").glob("*.png")}
    assert {exhibit.name for exhibit in told if exhibit.gallery} <= shipped


def test_the_gallery_is_small():
    files = [path for path in (REPOSITORY / "output" / "gallery").rglob("*") if path.is_file()]
    assert sum(path.stat().st_size for path in files) < 2_000_000


ONE_OF_EACH = {exhibit.job.make: exhibit for exhibit in scenario.exhibits() if exhibit.command}


@pytest.mark.parametrize("exhibit", [ONE_OF_EACH[make] for make in ONE_OF_EACH if make != "font"], ids=lambda e: e.name)
def test_the_command_on_the_index_makes_the_same(cli, exhibit):
    if exhibit.drawing:
        Path(exhibit.drawing[0]).write_text(exhibit.drawing[1])
    made = exhibit.job.run()
    pages = made.layout() if hasattr(made, "layout") else made
    assert cli(*shlex.split(exhibit.command), "-o", "made.pdf").code == 0
    assert Path("made.pdf").read_bytes() == b"".join(data for _, data in pages.files("pdf"))


def test_the_scenario_uses_the_markers_that_ship_whatever_profiles_there_are():
    shipped = str(templates_folder() / "markers")
    for exhibit in scenario.exhibits():
        values = [exhibit.job.values.get(key, []) for key in ("marker", "markers", "others")]
        paths = [one for value in values for one in (value if isinstance(value, list) else [value])]
        assert all(path.startswith(shipped) for path in paths)
    (handout,) = [exhibit for exhibit in scenario.exhibits() if exhibit.name == "handout"]
    assert len(handout.job.values["markers"]) == 7
