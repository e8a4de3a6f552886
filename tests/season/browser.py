"""The page of a season in a browser without a window: its keys, its filter, its policy, paper and a phone, and axe-core.

    python tests/season/browser.py [--days N] [--pictures FOLDER]

Wants Chromium, as Debian's package of that name, and the extra `browser`. Where either is missing it says so and ends
with status 0; `tests/season/test_page.py` holds the structure of the page everywhere. axe-core is told to judge by WCAG
2.2 at levels A and AA (W3C Recommendation, 2023).
"""

import argparse
import importlib.util
import io
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from tests.season.made import day, season
from traverse.season.index_season import index_season

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
DESK, PHONE = {"width": 1400, "height": 1000}, {"width": 390, "height": 844}
HOSTILE = "</script><script>window.broken = 1</script><img src=x onerror='window.broken = 1'>"


class Checks:
    """What was asked of the page, and what did not hold."""

    def __init__(self):
        self.failed = []

    def __call__(self, what, held, found=""):
        print(f"{'ok' if held else 'FAILED'}: {what}{f': {found}' if found and not held else ''}")
        if not held:
            self.failed.append(what)


def made(folder, days):
    """A season with a log with errors, one with hostile words, and its sheets where there are few."""
    season(folder, days)
    (folder / "slip.trav").write_text(day(4).replace("to 2 ", "to 2 N95E "), "utf-8")
    (folder / "hostile.trav").write_text(
        day(8, title=HOSTILE).replace("loose blocks above the path", HOSTILE), "utf-8"
    )
    index_season(folder, sheets=days <= 40)
    return (folder / "season" / "season.html").as_uri()


def shown_rows(page):
    return page.locator("#table tbody tr:visible").count()


def check_use(page, checks, days):
    """The table and the map by the keyboard alone, and the day beside them."""
    checks("every log has a row", page.locator("#table tbody tr").count() == days + 2)
    checks("the status tells how many", page.locator("#shown").inner_text().startswith(f"{days + 2} logs"))
    page.keyboard.press("Tab")
    checks(
        "the first key leads to the skip link", page.evaluate("document.activeElement.className") == "skip"
    )
    order = []
    for _ in range(16):
        page.keyboard.press("Tab")
        order.append(
            page.evaluate(
                "document.activeElement.id || document.activeElement.name || document.activeElement.tagName"
            )
        )
    checks(
        "keys lead over the tools and the map to the filter",
        order.index("ground") < order.index("words"),
        order,
    )
    before = page.evaluate("document.getElementById('ground').toDataURL()")
    page.focus("#ground")
    for key in ("+", "+", "ArrowLeft", "ArrowUp"):
        page.keyboard.press(key)
    page.wait_for_timeout(100)
    moved = page.evaluate("document.getElementById('ground').toDataURL()")
    checks("keys move the map", moved != before)
    page.keyboard.press("0")
    page.wait_for_timeout(100)
    checks("zero shows all again", page.evaluate("document.getElementById('ground').toDataURL()") == before)
    page.keyboard.press("PageDown")
    checks("Page Down chooses the first day", page.locator("tr[aria-current=true]").count() == 1)
    page.locator(".pick").nth(1).focus()
    page.keyboard.press("Enter")
    title = page.locator(".pick").nth(1).inner_text()
    checks("a title shows its day", page.locator("#day h3").inner_text() == title)
    checks("and the keyboard goes there", page.evaluate("document.activeElement.tagName") == "H3")
    checks("the day has its closures", "Loop of" in page.locator("#day").inner_text())


def check_filter(page, checks, days):
    """Words, state and order."""
    page.fill("[name=words]", "T5-1")
    page.wait_for_timeout(300)
    checks("a sample's number finds its day", shown_rows(page) == 1, page.locator("#shown").inner_text())
    page.fill("[name=words]", "")
    page.select_option("[name=state]", "bad")
    page.wait_for_timeout(300)
    # The hostile log has the text of another day but for its words, so it is no copy.
    checks("what is not counted is found", shown_rows(page) == 1, page.locator("#shown").inner_text())
    page.click("button[type=reset]")
    page.wait_for_timeout(300)
    checks("clearing shows all again", shown_rows(page) == min(days + 2, 300))
    head = page.locator("#table thead th", has_text="km")
    head.locator("button").focus()
    page.keyboard.press("Enter")
    lengths = page.locator("#table tbody tr:visible td.n:nth-of-type(4)").all_inner_texts()
    figures = [float(one) for one in lengths if one]
    checks("a heading sorts by its column", figures == sorted(figures) and len(figures) > 1)
    checks("and says so", head.get_attribute("aria-sort") == "ascending")
    page.keyboard.press("Enter")
    checks("and again the other way", head.get_attribute("aria-sort") == "descending")


def check_axe(page, checks, where):
    from axe_playwright_python.sync_playwright import Axe

    found = (
        Axe().run(page, options={"runOnly": {"type": "tag", "values": list(RULES)}}).response["violations"]
    )
    told = [f"{one['id']} ({one['nodes'][0]['html'][:120]})" for one in found]
    checks(f"axe-core finds nothing, {where}", not found, "; ".join(told))


def check_safe(page, checks, asked, said):
    checks("no word of a log runs", page.evaluate("window.broken === undefined"))
    checks("the page says nothing on its console", not said, said)
    # A sheet opens in the browser's own viewer, whose parts are no network's.
    outside = [one for one in asked if one.startswith(("http", "ws", "ftp", "data"))]
    checks("nothing is asked of a network", not outside, outside)
    blocked = page.evaluate(
        "() => { const one = document.createElement('script'); one.textContent = 'window.broken = 1';"
        " document.body.append(one); return window.broken === undefined; }"
    )
    checks("its policy stops a script put into it", blocked)


def check_wide(page, checks, where):
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    checks(f"the page is no wider than {where}", wide <= 0, wide)


def check_paper(data, checks):
    from pypdf import PdfReader

    pages = [one.extract_text() for one in PdfReader(io.BytesIO(data)).pages]
    heads = [number for number, words in enumerate(pages) if "Stations" in words and "Attitudes" in words]
    checks("on paper the heads of the table stand on each of its pages", heads[:2] == [0, 1], heads)
    checks("and the cautions on the first", "Not a land survey" in " ".join(pages[0].split()))
    checks("and nothing that asks to be pressed", not any("Farther" in words for words in pages))


def run(browser, address, checks, days, pictures):
    context = browser.new_context(viewport=DESK)
    page = context.new_page()
    asked, said = [], []
    page.on("request", lambda one: asked.append(one.url))
    page.on("console", lambda one: said.append(one.text))
    page.on("pageerror", lambda one: said.append(str(one)))
    page.goto(address)
    page.wait_for_timeout(300)
    check_axe(page, checks, "on a desk")
    check_use(page, checks, days)
    check_filter(page, checks, days)
    check_axe(page, checks, "with a day chosen")
    check_wide(page, checks, "a desk")
    sheet = page.locator("#day button", has_text="Show it here")
    if sheet.count():
        sheet.click()
        checks("the sheet stands beside the day", page.locator("#day iframe").count() == 1)
    if pictures:
        page.screenshot(path=pictures / "desk.png", full_page=days <= 40)
    check_safe(page, checks, asked, said)
    check_paper(page.pdf(path=pictures / "paper.pdf" if pictures else None, format="A4"), checks)
    context.close()

    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(address)
    page.wait_for_timeout(300)
    page.locator(".pick").nth(0).tap()
    check_axe(page, checks, "on a phone")
    check_wide(page, checks, "a phone")
    if pictures:
        page.screenshot(path=pictures / "phone.png")
    context.close()

    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address)
    checks(
        "without its script the table stands whole",
        page.locator("#table tbody tr:visible").count() == days + 2,
    )
    checks("and the filter, which needs it, does not", page.locator("#filter:visible").count() == 0)
    context.close()


def main():
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--days", type=int, default=12)
    options.add_argument("--pictures", type=Path)
    given = options.parse_args()
    chromium = next(filter(None, map(shutil.which, NAMES)), None)
    for name, there in (
        ("Chromium", chromium),
        ("playwright", importlib.util.find_spec("playwright")),
        ("axe-playwright-python", importlib.util.find_spec("axe_playwright_python")),
    ):
        if not there:
            print(f"not run: {name} is not installed")
            return 0
    from playwright.sync_api import sync_playwright

    if given.pictures:
        given.pictures.mkdir(parents=True, exist_ok=True)
    checks = Checks()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        address = made(Path(folder), given.days)
        # A container has no namespace for the browser's own sandbox.
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        try:
            run(browser, address, checks, given.days, given.pictures)
        finally:
            browser.close()
    print(f"{len(checks.failed)} failed")
    return int(bool(checks.failed))


if __name__ == "__main__":
    sys.exit(main())
