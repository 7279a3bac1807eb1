"""The job in a second engine, Firefox: the letter follows a slider, a result is shown, a letter's check is at hand."""

import json

import pytest
from firefox import Firefox


@pytest.fixture
def firefox(tmp_path):
    found = Firefox(tmp_path)
    yield found
    found.close()


def test_the_job_in_a_second_engine(server, firefox, cli):
    firefox.send("WebDriver:SetWindowRect", width=500, height=800)
    firefox.go(server.address)
    assert firefox.run("document.documentElement.scrollWidth - innerWidth") <= 0
    firefox.click("button.marker[value=pebble]")
    firefox.until("document.title.includes('Pebble')")
    size = json.loads(cli("size", "pebble", "--json").out)
    assert firefox.run("parseFloat(document.querySelector('output').textContent)") == round(size["x_height_mm"], 1)
    right = "\ue014"  # the arrow (W3C WebDriver, 17.4.2)
    firefox.press("[data-for=down]", 4 * right)
    firefox.until("document.querySelector('[name=label]').value === 'My marker'")
    firefox.until("location.search.includes('down=1.8&')")
    firefox.click("button.kind[value=cut]")
    firefox.until("document.activeElement.id === 'result-title'")
    firefox.until("document.querySelector('img.page')?.naturalWidth > 100")
    assert firefox.run("getComputedStyle(document.querySelector('#which-title'), '::after').borderTopStyle") == "solid"
    # the thumb is ours, not the engine's; the card keeps its shape
    assert firefox.run("getComputedStyle(document.querySelector('#down + span + input')).appearance") == "none"
    firefox.run("document.querySelector('#screen').setAttribute('open', '')")
    box = firefox.run("(r => [r.width, r.height])(document.querySelector('.card').getBoundingClientRect())")
    assert max(box) / min(box) == pytest.approx(85.60 / 53.98, rel=0.01)  # ISO/IEC 7810 ID-1
