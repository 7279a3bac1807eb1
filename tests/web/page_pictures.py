"""The page in each of its states, as Chromium shows it: ``python tests/web/page_pictures.py [FOLDER]``.

Without a folder, those that README shows are written to ``output/gallery``; with one, every state is written there to
be looked at.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright
from running import Running

GALLERY = Path(__file__).resolve().parent.parent.parent / "output" / "gallery"
WHARF = "tip=brush&down=9.3&hair=2.1&label=Wharf"
FINE = "tip=brush&down=0.55&hair=0.1&label=Reed"
QUAY = "tip=broad&down=2.5&hair=0.25&angle=35&label=Quay"

# name: address, width, height (None for the whole page), settings of the browser, what is done first, whether README
# shows it
STATES = {
    "page": ("", 1280, 1000, {}, "", True),
    "page-worksheet": ("?need=worksheet&text=ebb+and+flow", 1280, None, {}, "", False),
    "page-cut-dark": (f"?need=cut&text=Regatta&bridges_mm=2&{QUAY}", 1280, None, {"color_scheme": "dark"}, "", False),
    "page-handout": ("?need=handout&also=label=Pebble|tip=brush|down=1.6|hair=0.35", 1280, None, {}, "", False),
    "page-font": ("?need=font&tip=round&down=0.8&label=Flint", 1280, None, {}, "", False),
    "page-wharf": (f"?{WHARF}&need=letter", 1280, None, {}, "", False),
    "page-reed": (f"?{FINE}&x=2&need=sheet", 1280, None, {}, "", False),
    "page-plan": ("?need=plan&text=high+tide+at+noon&paper=a6", 768, None, {"color_scheme": "dark"}, "", False),
    "page-tablet": ("?need=planner&theme=pine", 1440, None, {}, "", False),
    "page-phone": ("?need=worksheet&text=tide", 360, None, {}, "", False),
    "page-phone-top": ("", 360, 780, {}, "#large", True),
    "page-narrowest": (f"?{WHARF}", 320, None, {}, "", False),
    "page-wall": ("?need=compare", 2560, None, {}, "", False),
    "page-problem": ("?need=sheet&paper=30x30mm", 1280, None, {}, "", False),
    "page-closed": ("?x=4", 1280, None, {}, "", False),
    "page-refused": ("?need=boat", 800, 500, {}, "", False),
    "page-card": ("", 1280, None, {}, "card", False),
    "page-forced": ("?need=sheet", 1280, None, {"forced_colors": "active"}, "", False),
    "page-contrast": ("?need=sheet", 1280, None, {"contrast": "more"}, "", False),
    "page-no-script": ("?need=trial", 900, None, {"java_script_enabled": False}, "", False),
}


def take(browser, address, folder, name):
    path, width, height, settings, first, _ = STATES[name]
    context = browser.new_context(viewport={"width": width, "height": height or 900}, **settings)
    page = context.new_page()
    page.goto(address + path)
    if first == "card":
        page.locator("#screen summary").click()
    elif first:
        page.locator(first).scroll_into_view_if_needed()
        page.evaluate("place => document.querySelector(place).scrollIntoView()", first)
    for picture in page.locator("img").all():
        if height is None:
            picture.scroll_into_view_if_needed()
    page.wait_for_load_state("networkidle")
    page.screenshot(path=folder / f"{name}.png", full_page=height is None)
    context.close()


def main(folder):
    with tempfile.TemporaryDirectory() as home, sync_playwright() as playwright:
        server = Running(Path(home))
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name in STATES:
            if folder != GALLERY or STATES[name][-1]:
                take(browser, server.address, folder, name)
        browser.close()
        server.stop()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else GALLERY)
