"""The whole job in a real browser: by mouse, by keyboard, without scripts, on a small screen, with a slow server."""

import json
import re
import time
from urllib.parse import parse_qs, urlsplit

import pytest
from sample_pages import written_page


def taken(page, name):
    with page.expect_download() as waits:
        page.get_by_role("link", name=name, exact=True).click()
    return waits.value


def until(page, expression, seconds=60):
    """Wait until a script's expression is true; Playwright's own way needs what the page's policy forbids."""
    end = time.monotonic() + seconds
    while not page.evaluate(expression):
        assert time.monotonic() < end, expression
        page.wait_for_timeout(30)


def number_of(page):
    return float(page.locator("output").inner_text().removesuffix(" mm"))


def settled(page):
    until(page, "document.querySelector('#take').getAttribute('aria-busy') !== 'true'")


def test_the_job_by_mouse(server, watch, cli, home):
    seen = watch(server.address)
    page = seen.page
    page.get_by_role("button", name="Pebble").click()
    until(page, "document.title.includes('Pebble')")
    size = json.loads(cli("size", "pebble", "--json").out)
    assert f"{number_of(page):.1f}" == f"{size['x_height_mm']:.1f}"
    page.get_by_label("Paper").select_option("a5")
    page.wait_for_url("**paper=a5**")
    page.get_by_role("button", name="Practice sheet").click()
    page.get_by_role("textbox", name="Text").fill("ebb and flow")
    page.get_by_role("textbox", name="Text").blur()
    page.wait_for_url("**text=ebb**")
    settled(page)
    assert cli("worksheet", "pebble", "ebb and flow", "--paper", "a5", "-o", "made.pdf").code == 0
    download = taken(page, "Take it as PDF")
    assert download.suggested_filename == "worksheet-pebble.pdf"
    assert download.path().read_bytes() == (home / "made.pdf").read_bytes()
    assert page.locator("img.page").count() == len(re.findall(rb"/Type /Page\b", (home / "made.pdf").read_bytes()))
    # the address is everything, and Back goes back
    link = page.url
    assert parse_qs(urlsplit(link).query)["down"] == ["1.6"]
    again = watch(link).page
    assert again.get_by_role("textbox", name="Text").input_value() == "ebb and flow"
    for _ in range(2):
        page.go_back()
    until(page, "!location.search.includes('text=ebb')")
    settled(page)
    until(page, "!document.documentElement.outerHTML.includes('ebb and flow')")


def test_the_letter_follows_the_sliders(server, watch):
    page = watch(server.address).page
    before = number_of(page)
    slider = page.get_by_role("slider", name="Downstroke")
    slider.focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    until(page, f"parseFloat(document.querySelector('output').textContent) > {before + 0.9}")
    assert page.get_by_role("textbox", name="Called").input_value() == "My marker"
    page.wait_for_url("**down=3.5**")
    # at 3.5 mm with the hairline of 0.6 the band begins at 11.9
    band = page.get_by_role("slider", name="Write larger or smaller")
    band.focus()
    page.keyboard.press("Home")
    until(page, "document.querySelector('text.verdict').textContent === 'too small'")
    page.keyboard.press("End")
    until(page, "document.querySelector('text.verdict').textContent === 'too large'")
    assert "too large" in band.get_attribute("aria-valuetext")
    page.get_by_role("button", name="Right size").click()
    until(page, "document.querySelector('text.verdict').textContent === 'right'")


def test_the_job_by_keyboard_alone(server, watch):
    page = watch(server.address).page

    def walk_to(name, most=80):
        for _ in range(most):
            page.keyboard.press("Tab")
            text = page.evaluate(
                "(document.activeElement.ariaLabel || document.activeElement.innerText || document.activeElement.name)"
            )
            if (text or "").startswith(name):
                style = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
                assert style != "none", name
                return
        raise AssertionError(name)

    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    walk_to("Thorn")
    page.keyboard.press("Enter")
    until(page, "document.title.includes('Thorn')")
    assert page.evaluate("document.activeElement.innerText").startswith("Thorn")  # one is not thrown back to the start
    walk_to("Guide sheet")
    page.keyboard.press("Enter")
    until(page, "document.activeElement.id === 'result-title'")
    walk_to("Take it as PDF")
    with page.expect_download() as waits:
        page.keyboard.press("Enter")
    assert waits.value.suggested_filename == "sheet-thorn.pdf"


def test_the_job_without_scripts(server, watch, cli, home):
    page = watch(server.address, java_script_enabled=False).page
    page.get_by_label("broad edge").check()
    page.get_by_label("Downstroke").first.fill("2,5 mm")
    page.get_by_label("Upstroke, hairline").first.fill("0.25")
    page.get_by_label("Pen angle").first.fill("35")
    page.get_by_role("textbox", name="Called").fill("Quay")
    page.get_by_role("button", name="Show its letter").last.click()
    assert number_of(page) == 12.5  # 5 nib widths
    page.get_by_role("button", name="Largest").click()
    page.get_by_role("button", name="Finished words").click()
    page.get_by_role("textbox", name="Text").fill("Regatta")
    page.get_by_role("button", name="Show it", exact=True).click()
    assert page.locator("img.page").count() == 1
    x_height = page.get_by_role("textbox", name="x-height").input_value()
    widths = ("--tip", "broad", "--downstroke", "2.5", "--hairline", "0.25", "--nib-angle", "35", "--label", "Quay")
    assert cli("add", "quay", *widths, "-o", "quay.toml").code == 0
    assert cli("write", "quay.toml", "Regatta", "--x-height", x_height, "-o", "made.svg").code == 0
    assert taken(page, "Take it as SVG").path().read_bytes() == (home / "made.svg").read_bytes()
    assert taken(page, "Take it as a small file").path().read_bytes() == (home / "quay.toml").read_bytes()


@pytest.mark.parametrize("width", [320, 360, 2560])
def test_it_fits_every_screen(server, watch, width):
    page = watch(server.address + "?need=worksheet&label=Wharf&tip=brush&down=9.3&hair=2.1", width=width).page
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.locator("#screen summary").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    # what is pressed is large enough for a thumb: 24 px are asked for by WCAG 2.2, 2.5.8
    boxes = page.evaluate(
        "[...document.querySelectorAll('button, input:not([type=hidden]), select, summary, .takes a')]"
        ".filter(e => e.checkVisibility() && !e.closest('.unseen, label')).map(e => e.getBoundingClientRect())"
        ".filter(r => r.width > 1 && (r.width < 24 || r.height < 24)).length"
    )
    assert boxes == 0


def test_a_slow_server_is_told_of_and_waited_for(server, watch):
    seen = watch(server.address)
    page = seen.page

    def late(route):
        time.sleep(1.5)
        route.continue_()

    page.route(re.compile(r"\?.*need=letter"), late)
    page.get_by_role("button", name="Sample letter").click()
    until(page, "document.querySelector('#said').textContent.includes('Working')")
    until(page, "document.querySelector('#result-title')?.textContent === 'Sample letter'")
    assert page.locator("#said").inner_text() == ""


def test_what_is_wrong_stands_on_the_page_and_nothing_is_lost(server, watch):
    seen = watch(server.address + "?need=sheet")
    page = seen.page
    page.get_by_label("Upstroke, hairline").first.fill("7")
    page.get_by_label("Upstroke, hairline").first.blur()
    until(page, "document.querySelector('#said').textContent.includes('at most')")
    assert page.get_by_label("Upstroke, hairline").first.input_value() == "7"
    assert page.locator("#said").get_attribute("aria-live") == "polite"
    page.wait_for_load_state("networkidle")  # each of the two events asked
    page.wait_for_timeout(300)
    assert all("400" in complaint for complaint in seen.complaints)  # the browser's own word for a refused request
    seen.complaints.clear()


def test_true_size_by_a_bank_card(server, watch):
    """The outline is that of ISO/IEC 7810 ID-1, 85.60 x 53.98 mm; what is shown then follows it."""
    page = watch(server.address).page
    assert page.locator(".scale").inner_text() == "not to scale on this screen"
    page.locator("#screen summary").click()
    slider = page.locator("#card-slider")
    slider.fill("5.2")
    box = page.locator(".card").bounding_box()
    assert box["width"] / box["height"] == pytest.approx(85.60 / 53.98, rel=0.005)
    assert box["width"] == pytest.approx(85.60 * 5.2, abs=0.6)
    page.get_by_role("button", name="It fits").click()
    page.reload()
    until(page, "document.querySelector('.scale').textContent.startsWith('true size')")
    glass = page.locator(".glass")
    mm = float(glass.get_attribute("data-mm"))
    until(page, "document.querySelector('.glass svg').getBoundingClientRect().width > 5.19 * parseFloat(document"
                ".querySelector('.glass').dataset.mm)")  # fmt: skip
    assert glass.locator("svg").bounding_box()["width"] == pytest.approx(5.2 * mm, rel=0.002)
    # the distance from baseline to x-height line is the number shown
    lines = page.evaluate(
        "['baseline', 'x-height'].map(r => document.querySelector(`.glass [data-line=${r}]`).getBoundingClientRect().y)"
    )
    assert (lines[0] - lines[1]) / 5.2 == pytest.approx(number_of(page), abs=0.1)
    assert json.loads(page.evaluate("localStorage.getItem('guide-screen')"))["perMm"] == 5.2
    page.locator("#screen summary").click()
    page.get_by_role("button", name="Forget it").click()
    assert page.locator(".scale").inner_text() == "not to scale on this screen"


STATES = {
    "start": "",
    "broad, chosen size": "?tip=broad&down=3&hair=0.3&angle=40&label=Slate&x=12",
    "practice sheet": "?need=worksheet&letters=a&practise=letters",
    "comparison": "?need=compare",
    "words to cut": "?need=cut&text=ebb&bridges_mm=2",
    "font": "?need=font&tip=round&down=0.8&label=Flint",
    "problem in a result": "?need=sheet&paper=30x30mm",
    "problem in an address": "?need=boat",
    "closed": "?x=4",
    "trial page": "?need=trial",
    "a plan": "?need=plan",
    "for a tablet": "?need=planner",
}


@pytest.mark.parametrize("state", STATES)
def test_axe_finds_no_violation(server, watch, axe, state):
    seen = watch(server.address + STATES[state], color_scheme="dark" if state == "comparison" else "light")
    page = seen.page
    if "problem" not in state:
        for fold in page.locator(".photo summary").all():
            fold.click()
        page.locator("#screen summary").click()
    found = axe(page)
    assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in found["violations"]] == []
    assert len(found["passes"]) > 10
    seen.complaints[:] = [text for text in seen.complaints if "400" not in text]


def test_written_letters_are_checked(server, watch, tmp_path):
    """What is chosen stays, the file too, until it is sent; then the verdict stands on the page and in no address."""
    (tmp_path / "Ada.png").write_bytes(written_page(5))
    page = watch(server.address + "?label=Pebble&tip=brush&down=1.6&hair=0.35").page
    page.locator("#checking summary").click()
    page.locator("#checking input[type=file]").set_input_files(tmp_path / "Ada.png")
    page.wait_for_timeout(600)  # a field of the page would have brought a new page by now
    assert page.locator("#checking input[type=file]").evaluate("field => field.files.length") == 1
    page.get_by_role("button", name="Check it").click()
    page.locator("#checked").wait_for()
    assert page.evaluate("document.activeElement.id") == "verdict"
    assert page.locator("#verdict").inner_text() == "right"
    assert page.locator("#checked img").evaluate("image => image.naturalWidth") > 1000
    assert "Ada" not in page.url
    assert "check" not in page.url
    page.get_by_role("button", name="Guide sheet").click()
    until(page, "document.activeElement.id === 'result-title'")
    assert page.locator("#checked").count() == 1
    page.get_by_role("button", name="Cobble").click()
    until(page, "document.title.includes('Cobble')")
    assert page.locator("#checked").count() == 0  # it was said of another marker


def test_it_stands_still_where_that_is_wished(server, watch):
    page = watch(server.address, reduced_motion="reduce").page
    moving = "[...document.querySelectorAll('*')].filter(e => getComputedStyle(e).transitionDuration !== '0s').length"
    assert page.evaluate(moving) == 0
    assert page.evaluate("getComputedStyle(document.documentElement).scrollBehavior") == "auto"
    lively = watch(server.address, reduced_motion="no-preference").page
    assert lively.evaluate(moving) > 0


def test_it_is_seen_in_forced_colours(server, watch, axe):
    """Everything that tells something has a colour of the system's, and what is chosen a border of its own."""
    page = watch(server.address + "?need=cut&text=ebb", width=320, forced_colors="active", color_scheme="dark").page
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    text = "getComputedStyle(document.querySelector('h1')).color"
    for place, what in ((".glass path", "fill"), (".strokes", "fill"), (".bandlines .whole", "stroke")):
        assert page.evaluate(f"getComputedStyle(document.querySelector('{place}')).{what} === {text}"), place
    paper = "getComputedStyle(document.querySelector('img.page')).backgroundColor"
    assert page.evaluate(paper) == "rgb(255, 255, 255)"  # black ink on it
    widths = "[...document.querySelectorAll('.marker')].map(e => getComputedStyle(e).borderTopWidth)"
    assert sorted(page.evaluate(widths))[-2:] == ["1px", "3px"]
    assert [one["id"] for one in axe(page)["violations"]] == []


def test_axe_finds_what_is_wrong(server, watch, axe):
    page = watch(server.address).page
    page.evaluate("document.querySelector('#x-slider').removeAttribute('aria-valuetext')")
    page.evaluate("document.querySelector('label[for=x-slider]').remove()")
    assert [one["id"] for one in axe(page)["violations"]] == ["label"]


def test_small_pictures_are_shown_for_every_kind(server, watch):
    page = watch(server.address).page
    page.locator("#further summary").click()
    pictures = page.locator(".kind img")
    for number in range(pictures.count()):
        pictures.nth(number).scroll_into_view_if_needed()
    until(page, "[...document.images].every(i => i.complete && i.naturalWidth > 60)")
