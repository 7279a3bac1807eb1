"""Manifests: lists multiply, names go into file names, and everything wrong is told at once."""

import itertools

import pytest

from guidegen.batch.manifest import ManifestError, file_word, read_manifest
from guidegen.errors import GuidegenError, bad_input

OPTIONS = {
    "sheet": {"marker": "one", "paper": "one", "landscape": "one"},
    "handout": {"marker": "one", "markers": "several"},
}


def takes(command, key):
    if command not in OPTIONS:
        raise bad_input("", "command", command, "a command that makes a file")
    if key and key not in OPTIONS[command]:
        raise bad_input("", key, "an unknown option", "an option")
    return OPTIONS[command].get(key, "")


def read(folder, text):
    path = folder / "class.toml"
    path.write_text(text, encoding="utf-8")
    return read_manifest(path, takes, lambda: ["grit", "cobble"])


def test_lists_multiply_and_the_last_changes_fastest(tmp_path):
    found = read(
        tmp_path,
        '[[job]]\ncommand = "sheet"\nmarker = ["grit", "cobble"]\npaper = ["a4", "letter", "a5"]\n'
        'out = "{marker}/{paper}.pdf"',
    )
    expected = list(itertools.product(["grit", "cobble"], ["a4", "letter", "a5"]))
    assert len(found) == 6
    assert [tuple(value for _, value in job.words) for job in found.jobs()] == expected
    assert [job.out for job in found.jobs()] == [f"{marker}/{paper}.pdf" for marker, paper in expected]
    assert [job.number for job in found.jobs()] == [1, 2, 3, 4, 5, 6]


def test_an_option_of_several_takes_its_list_as_it_stands(tmp_path):
    (job,) = read(tmp_path, '[[job]]\ncommand = "handout"\nmarkers = ["grit", "cobble"]').jobs()
    assert job.words == (("markers", ("grit", "cobble")),)
    jobs = read(tmp_path, '[[job]]\ncommand = "handout"\nmarkers = [["grit"], ["grit", "cobble"]]').jobs()
    assert [job.words[0][1] for job in jobs] == [("grit",), ("grit", "cobble")]
    (job,) = read(tmp_path, '[[job]]\ncommand = "handout"\nmarkers = "*"').jobs()
    assert job.words == (("markers", ("grit", "cobble")),)


def test_a_star_is_every_marker(tmp_path):
    assert [job.out for job in read(tmp_path, '[[job]]\ncommand = "sheet"\nmarker = "*"').jobs()] == [
        "sheet-grit.pdf",
        "sheet-cobble.pdf",
    ]


@pytest.mark.parametrize("start", ["", "\ufeff"])
def test_names_come_from_a_table(tmp_path, start):
    (tmp_path / "class.csv").write_text(start + 'name,age\n"Bo, the elder",9\nJörn,10\n', encoding="utf-8")
    table = '[[job]]\ncommand = "sheet"\nmarker = { csv = "class.csv", column = "name" }\nout = "{number}-{marker}.svg"'
    assert [job.out for job in read(tmp_path, table).jobs()] == ["1-Bo,-the-elder.svg", "2-Jörn.svg"]
    (tmp_path / "class.csv").write_text("Bo\n\nJörn\n", encoding="utf-8")
    names = '[[job]]\ncommand = "sheet"\nmarker = { csv = "class.csv" }'
    assert [job.words[0][1] for job in read(tmp_path, names).jobs()] == ["Bo", "Jörn"]


@pytest.mark.parametrize(
    ("value", "word"),
    [
        ("high tide", "high-tide"),
        ("a/b\\c:d", "a-b-c-d"),
        ("../..", "-"),
        ("pens/fine one.toml", "fine-one"),
        (12.5, "12.5"),
        (12.0, "12"),
        (True, "yes"),
        (("a", "b"), "a-b"),
        ("e\u0301", "é"),
        ("x" * 500, "x" * 120),
        ("\x1b[31m", "[31m"),
    ],
)
def test_values_in_file_names(value, word):
    assert file_word(value) == word


def test_every_mistake_is_told_at_once(tmp_path):
    (tmp_path / "class.csv").write_text("name\nBo\nBo\n")
    tables = [
        'command = "shet"',
        'marker = "cobble"',
        'command = "sheet"\nmarkr = "cobble"\npaper = []\nlandscape = 1979-05-27',
        'command = "sheet"\nmarker = "cobble"\nout = "{paper}.pdf"',
        'command = "sheet"\nmarker = ["a", "a"]',
        'command = "sheet"\nmarker = { csv = "class.csv", column = "nme" }',
        'command = "sheet"\nmarker = { csv = "class.csv", column = "name" }',
        'command = "sheet"\nmarker = { csv = "nobody.csv" }',
        'command = "sheet"\nmarker = "a"\nout = "../a.pdf"',
        'command = "sheet"\nmarker = "a"\nout = "/a.pdf"',
        'command = "sheet"\nmarker = "a"\nout = ".hidden/a.pdf"',
        'command = "sheet"\nmarker = "a"\nout = "{marker.pdf"',
        'command = "sheet"\nmarker = "a"\nout = 3',
    ]
    with pytest.raises(ManifestError) as caught:
        read(tmp_path, "\n".join(f"[[job]]\n{table}" for table in tables))
    told = caught.value.mistakes
    assert len(told) == len(tables) + 2  # the third table has three
    for number in range(1, len(tables) + 1):
        assert any(f"[[job]] {number}: " in line for line in told), number
    assert all("class.toml" in line and "\n" not in line for line in told)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "an empty file"),
        ("[[job]\n", "not a TOML file"),
        ("job = 3", r"expected tables \[\[job\]\]"),
        ("[batch]\nfolder = 3\n[[job]]\ncommand = 'sheet'", "batch.folder"),
        ("[batch]\nfoldr = 'x'\n[[job]]\ncommand = 'sheet'", "did you mean folder"),
        ("[jobs]\na = 1", "did you mean job"),
        (f"[[job]]\ncommand='sheet'\nmarker={[*map(str, range(1100))]}\npaper={[*map(str, range(1000))]}",
         "at most 1000000"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_manifest(tmp_path, text, told):
    with pytest.raises(GuidegenError, match=told):
        read(tmp_path, text)
