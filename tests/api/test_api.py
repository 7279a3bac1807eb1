"""The Python face: it makes what the commands make, byte for byte, shows itself, and saves itself whole."""

import json
import os
import pickle
import shlex
from pathlib import Path

import defusedxml.ElementTree
import pytest

import guidegen as gg
from guidegen.api.jobs import MAKERS, Job
from guidegen.jobs import run_in_order

ANCHOR = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="80mm" viewBox="0 0 60 80">
<path d="M30 10v55M20 22h20" fill="none" stroke="#000"/></svg>"""

SAME = {
    "sheet thorn --hand copperplate --slant 55,80 --landscape -o it.svg": lambda: gg.sheet(
        "thorn", hand="copperplate", slant_deg=(55, 80), landscape=True
    ),
    "sheet flint --measured 98.6x99.1 --credit 'Harbour class' -o it.svg": lambda: gg.sheet(
        "flint", printer="98.6x99.1", credit="Harbour class"
    ),
    "sheet slate --x-height 9mm --margin 20 --proof full -o it.pdf": lambda: gg.sheet(
        "slate", x_height_mm=9, margin_mm=20, proof="full"
    ),
    "sheet slate --paper a3 --printer-paper a4 -o it.pdf": lambda: gg.sheet("slate", paper="a3").tiled("a4", 12),
    "letter slate --char n --at largest --paper a5 --landscape -o it.svg": lambda: gg.letter(
        gg.lettering_of("slate", at="largest"), "n", paper="a5", landscape=True
    ),
    "trial --from 4 --to 9 --slant 60 -o it.pdf": lambda: gg.trial(4, 9, slant_deg=60),
    "compare flint slate --text so -o it.svg": lambda: gg.compare(["flint", "slate"], "so"),
    "handout flint slate --title Tuesday -o it.pdf": lambda: gg.handout(["flint", "slate"], title="Tuesday"),
    "planner flint --letters a-b --theme dark -o it.pdf": lambda: gg.planner("flint", letters="a-b", theme="dark"),
    "worksheet flint,slate tide --rows solid,blank --tint 40 -o it.pdf": lambda: gg.worksheet(
        ["flint", "slate"], "tide", rows="solid,blank", tint=40
    ),
    "worksheet flint --names class.txt -o it.pdf": lambda: gg.worksheet("flint", names="class.txt"),
    "write flint 'high tide' 'at seven' --align center --guides -o it.svg": lambda: gg.write(
        "flint", ["high tide", "at seven"], align="center", guides=True
    ),
    "write slate 'high tide at seven' --paper a5 -o it.pdf": lambda: gg.write(
        "slate", "high tide at seven", paper="a5"
    ),
    "write flint tide --for cut --bridges 0.4 --mirror --colour cut=#112233 -o it.dxf": lambda: gg.write(
        "flint", "tide", proof="bar"
    ).for_cut(bridges_mm=0.4, mirror=True, colours={"cut": "#112233"}),
    "write flint tide --for print --bleed 2 --spot Sea -o it.pdf": lambda: gg.write("flint", "tide").for_print(
        bleed_mm=2, spot="Sea"
    ),
    "plan flint 'boats come in' --lines 2 --paper a5 -o it.svg": lambda: gg.plan(
        "flint", "boats come in", lines=2, paper="a5"
    ).layout(),
    "plan flint 'boats' --for cut -o it.svg": lambda: gg.plan("flint", "boats").layout().for_cut(),
    "plan flint --names class.txt --up 4 -o it.pdf": lambda: gg.cards("flint", ["Ada", "Tom"], up=4).layout(),
    "ink anchor.svg --marker flint --centrelines -o it.svg": lambda: gg.ink(
        "anchor.svg", "flint", centrelines=True
    ),
}


@pytest.fixture
def own_files(home):
    (home / "anchor.svg").write_text(ANCHOR)
    (home / "class.txt").write_text("Ada\nTom\n")
    return home


@pytest.mark.parametrize("command", SAME, ids=lambda command: command.split(" -o ")[0])
def test_a_call_makes_what_the_command_makes(cli, own_files, command):
    result = cli(*shlex.split(command))
    assert result.code == 0, result.err
    path = own_files / command.split()[-1]
    made = SAME[command]().save("mine" + path.suffix)
    assert [one.read_bytes() for one in made] == [path.read_bytes()]


@pytest.mark.parametrize("ending", ["ttf", "otf"])
def test_a_font_is_the_commands_font(cli, home, ending):
    told = cli("font", "flint", "--face", "hollow", "--specimen", "--ufo", "-o", f"it.{ending}", "--json")
    assert told.code == 0, told.err
    font = gg.font("flint", face="hollow")
    made = font.save(f"mine.{ending}", specimen=True, ufo=True)
    for path in made:
        assert path.read_bytes() == (home / str(path).replace("mine", "it", 1)).read_bytes(), path
    values = {"path": f"it.{ending}"} | font.as_dict(ending)
    found = json.loads(told.out)
    assert {key: found[key] for key in values} == pytest.approx(values, abs=1e-4)


def test_values_are_those_of_json(cli, own_files):
    def told(*command):
        return json.loads(cli(*command, "--json").out)

    def rounded(value):
        return json.loads(json.dumps(value), parse_float=lambda text: round(float(text), 4))

    assert rounded(gg.right_size("cobble").as_dict()) == told("size", "cobble")
    assert rounded(gg.plan("slate", "high tide at seven", paper="a6").as_dict()) == told(
        "plan", "slate", "high tide at seven", "--paper", "a6"
    )
    assert rounded(gg.cards("flint", "class.txt", up=6).as_dict()) == told(
        "plan", "flint", "--names", "class.txt", "--up", "6"
    )
    gg.sheet("flint").save("flint.svg")
    assert rounded(gg.inspect_file("flint.svg", against="flint").as_dict()) == told(
        "inspect", "flint.svg", "--against", "flint"
    )


def test_a_marker_is_loaded_or_made(home):
    assert gg.marker("cobble").downstroke_mm == 3.2
    quay = gg.marker("quay", tip="broad", downstroke_mm=3.5, hairline_mm=0.3)
    assert (quay.label, quay.nib_angle_deg) == ("Quay", 40.0)
    assert gg.marker("reed", tip="round", downstroke_mm=0.5).hairline_mm == 0.5
    assert {"cobble", "flint"} < {marker.name for marker in gg.markers()}
    assert gg.marker(gg.lettering_of("cobble")) == gg.marker("cobble")
    with pytest.raises(gg.GuidegenError, match="did you mean cobble"):
        gg.marker("cobbel")
    with pytest.raises(gg.GuidegenError, match=r"marker quay: .*hairline_mm: found 9"):
        gg.marker("quay", downstroke_mm=3, hairline_mm=9)
    with pytest.raises(gg.GuidegenError, match="`downstroke_mm`: found nothing"):
        gg.marker("quay", hairline_mm=9)


def test_your_own_profiles_are_found(cli, home):
    assert cli("add", "tidepen", "--tip", "brush", "--downstroke", "2.4", "--hairline", "0.5").code == 0
    assert gg.marker("tidepen").downstroke_mm == 2.4
    assert "tidepen" in {marker.name for marker in gg.markers()}


def test_a_lettering_stands_for_its_marker_hand_and_size():
    small = gg.lettering_of("slate", hand="foundational", at="smallest")
    assert gg.sheet(small).svg() == gg.sheet("slate", hand="foundational", at="smallest").svg()
    assert gg.sheet(gg.lettering_of("slate", x_height_mm=9)).svg() == gg.sheet("slate", x_height_mm=9).svg()
    assert gg.right_size(small).hand.name == "foundational"


@pytest.mark.parametrize(
    "make",
    [
        lambda: gg.sheet("flint"),
        lambda: gg.trial()[1],
        lambda: gg.right_size("flint"),
        lambda: gg.plan("flint", "tide"),
        lambda: gg.cards("flint", ["Ada"], up=2),
        lambda: gg.write("flint", "tide").for_cut(),
    ],
    ids=["sheet", "second page", "size", "plan", "cards", "cut"],
)
def test_results_show_themselves_in_a_notebook(make):
    root = defusedxml.ElementTree.fromstring(make()._repr_svg_())
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert root.get("width").endswith("mm")


def test_a_plan_that_does_not_fit_shows_its_words_only():
    found = gg.plan("boulder", "the boats come in with the evening tide", paper="a6")
    assert not found.fits
    assert found._repr_svg_() is None
    assert str(found).startswith("does not fit")
    with pytest.raises(gg.GuidegenError, match="does not fit"):
        found.layout()


def test_pages_tell_what_they_are():
    pages = gg.trial()
    assert len(pages) == 4
    assert pages.page_mm == ((210.0, 297.0),) * 4
    assert repr(pages) == "<trial: 4 pages, 210 x 297 mm>"
    assert pages.as_dict()["page_mm"] == [[210.0, 297.0]] * 4
    assert [len(page) for page in pages] == [1] * 4
    assert gg.sheet("slate", x_height_mm=40).notes[0].startswith("an x-height of 40.0 mm is too large")


def test_saving_needs_no_name_and_overwrites_nothing(home):
    assert gg.sheet("flint").save() == [Path("sheet-flint.pdf")]
    (home / "sheets").mkdir()
    assert gg.trial().save("sheets", file_format="svg") == [
        Path(f"sheets/trial-{number}.svg") for number in (1, 2, 3, 4)
    ]
    assert gg.write("flint", "tide").for_cut().save() == [Path("write-flint.svg")]
    before = Path("sheet-flint.pdf").read_bytes()
    with pytest.raises(gg.GuidegenError, match=r"exists already.*`force`"):
        gg.sheet("slate").save("sheet-flint.pdf")
    assert Path("sheet-flint.pdf").read_bytes() == before
    with pytest.raises(gg.GuidegenError, match=r"`path` it\.svgg: found 'svgg', expected one of svg"):
        gg.sheet("slate").save("it.svgg")
    with pytest.raises(gg.GuidegenError, match=r"`purpose` cut: found 'png'"):
        gg.write("flint", "tide").for_cut().save("it.png")
    with pytest.raises(gg.GuidegenError, match="correct your own printer"):
        gg.write("flint", "tide", printer="98x99").for_cut()


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: gg.sheet("cobble", paper="a44"), "`paper`: found 'a44'"),
        (lambda: gg.sheet("cobble", paper="card", margin_mm=40), "`margin_mm`: 40 mm leave no room"),
        (lambda: gg.letter("cobble", "ab"), "`char`: found 'ab'"),
        (lambda: gg.write("cobble", []), "`text`: found"),
        (lambda: gg.worksheet("cobble"), "one of `text`, `letters`, `drills`, `names`"),
        (lambda: gg.compare([]), "`markers`: found nothing"),
        (lambda: gg.font("cobble", starts=True), "`starts`: found"),
        (lambda: gg.ink("nothing.svg", "flint"), "nothing.svg: found no such file"),
        (lambda: gg.plan("cobble", "two words", lines=3), "`lines`: found 3, expected at most 2"),
    ],
)
def test_errors_are_one_line_that_names_the_parameter(home, make, told):
    with pytest.raises(gg.GuidegenError) as failure:
        make()
    assert told in str(failure.value)
    assert "\n" not in str(failure.value)
    assert "--" not in str(failure.value)


JOBS = [
    Job("sheet", {"marker": "flint", "paper": "a6", "margin_mm": 5}),
    Job("write", {"marker": "flint", "text": ["tide", "boats"]}),
]


def svg_of(job):
    return job.run().svg()


def test_a_job_is_plain_values_and_the_same_in_another_process(monkeypatch):
    assert [Job(**json.loads(json.dumps({"make": job.make, "values": dict(job.values)}))) for job in JOBS] == JOBS
    assert pickle.loads(pickle.dumps(JOBS)) == JOBS
    there = list(run_in_order(svg_of, JOBS, processes=2, batch=1))
    assert there == [svg_of(job) for job in JOBS]
    assert os.environ.get("GUIDEGEN_DEBUG") is None


def test_jobs_that_are_none():
    assert {name for name in MAKERS if not hasattr(gg, name)} == {"specimen"}
    with pytest.raises(gg.GuidegenError, match="did you mean sheet"):
        Job("shete").run()
    with pytest.raises(gg.GuidegenError, match=r"sheet: found 'papr', .*; did you mean paper"):
        Job("sheet", {"marker": "flint", "papr": "a4"}).run()
