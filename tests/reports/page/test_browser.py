"""The page in a real browser: nothing fetched or refused, usable by keyboard, readable, playable, printable.

Accessibility is judged by axe-core (the rules it maps to WCAG 2.0 to 2.2, levels A and AA, and its best practices);
reflow at 320 CSS pixels is WCAG 2.2, success criterion 1.4.10. Printed pages are read back by PDFium.
"""

import contextlib
import importlib.util
import io
import re
import time
from dataclasses import replace
from pathlib import Path

import pytest

from analyzer.audit import audit_recording
from analyzer.model.audit import Audit
from analyzer.reports.digest import CAUTIONS
from analyzer.reports.page import report_html

pytestmark = pytest.mark.browser

SAMPLE = Path(__file__).resolve().parents[3] / "sample_data" / "harbour-strength"
SIZES = {"wide": (1360, 900), "phone": (390, 844)}
SECONDS = 420  # shorter than the class, and long enough for the finding the take is sent to


def _load(name):
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


shared = _load("browser")


@pytest.fixture(scope="module")
def sample() -> Audit:
    return audit_recording(SAMPLE / "captions.vtt", SAMPLE / "plan.yaml")


@pytest.fixture(scope="module")
def report(sample, tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("page") / "report.html"
    path.write_text(report_html(sample), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser():
    path = shared.chromium()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path)
        yield opened
        opened.close()


class Watched:
    """An open page with everything it complained about or asked for."""

    def __init__(self, browser, path, width=1360, height=900, **context):
        self.context = browser.new_context(viewport={"width": width, "height": height}, **context)
        self.context.set_default_timeout(10_000)
        self.page = self.context.new_page()
        self.said, self.asked = [], []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("dialog", lambda dialog: (self.said.append(dialog.message), dialog.dismiss()))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(path.as_uri())


@pytest.fixture
def opened(browser, report):
    """Open the sample's report, or another page; the page must never complain nor ask for anything but itself."""
    with contextlib.ExitStack() as stack:

        def make(path=report, **options):
            watched = Watched(browser, path, **options)
            stack.callback(watched.context.close)
            stack.callback(lambda: _innocent(watched, path))
            return watched.page

        yield make


def _innocent(watched, path):
    assert watched.said == []
    assert {url for url in watched.asked if not url.startswith("blob:")} == {path.as_uri()}


@pytest.mark.parametrize(("scheme", "size"), [("light", "wide"), ("dark", "wide"), ("light", "phone")])
def test_axe_finds_no_violation(opened, scheme, size):
    from axe_playwright_python.sync_playwright import Axe

    width, height = SIZES[size]
    page = opened(color_scheme=scheme, width=width, height=height)
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    result = Axe().run(page, options={"resultTypes": ["violations"]})
    assert len(result.response["passes"]) > 40
    assert [(v["id"], v["nodes"][0]["html"][:200]) for v in result.response["violations"]] == []


def test_axe_would_find_one(opened):
    from axe_playwright_python.sync_playwright import Axe

    page = opened()
    page.locator("#sought").evaluate("box => box.parentElement.querySelector('label').remove()")
    assert [v["id"] for v in Axe().run(page, options={"runOnly": ["label"]}).response["violations"]] == ["label"]


@pytest.mark.parametrize("width", [320, 390, 768, 1360])
def test_the_page_never_needs_sideways_scrolling(opened, width):
    page = opened(width=width, height=800)
    page.locator("details").evaluate_all("all => all.forEach(one => { one.open = true; })")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def until(page, told, patience_s=8.0):
    """Wait until an expression is true in the page; the page's policy forbids the browser library's own way."""
    end = time.monotonic() + patience_s
    while not page.evaluate(told):
        assert time.monotonic() < end, f"never came true: {told}"
        page.wait_for_timeout(50)


def finding(page, check):
    return page.locator(f"li[data-check='{check}'] article").first


def test_a_click_on_a_time_plays_the_picked_video_from_there(opened):
    page = opened()
    told = finding(page, "time-call-off").locator(".when [data-at]")
    at = float(told.get_attribute("data-at"))
    told.click()
    assert page.evaluate("location.hash") == "#player"  # without a take, to where one is picked
    take = {"name": "take.webm", "mimeType": "video/webm", "buffer": shared.video_bytes(SECONDS)}
    page.locator("#take").set_input_files(take)
    until(page, "document.getElementById('video').readyState >= 1")
    told.click()
    until(page, "!document.getElementById('video').seeking")
    state = page.evaluate("(({currentTime, paused, videoWidth}) => [currentTime, paused, videoWidth])(video)")
    assert state[0] == pytest.approx(at, abs=2.0)
    assert state[0] >= at - 0.01
    assert state[1:] == [False, 64]
    assert page.locator("#told").inner_text().startswith("Playing from 6:19")
    bar = page.locator(".recorded a.take").nth(3)
    bar.click()
    start = float(bar.get_attribute("data-at"))
    until(page, f"video.currentTime >= {start} && video.currentTime < {start + 5}")
    assert page.locator(".passage[aria-current]").count() == 1
    page.locator("#close").click()
    assert page.locator("#video").is_hidden()


def test_sound_alone_will_do_and_arrow_keys_take_it_along(opened):
    page = opened()
    take = {"name": "take.wav", "mimeType": "audio/wav", "buffer": shared.sound_bytes(200)}
    page.locator("#take").set_input_files(take)
    until(page, "document.getElementById('video').readyState >= 1")
    page.locator("#by-check").select_option("caption-misheard")
    page.locator("#after").click()
    at = float(finding(page, "caption-misheard").locator(".when [data-at]").get_attribute("data-at"))
    assert page.evaluate("video.currentTime") == pytest.approx(at, abs=0.1)
    assert page.evaluate("video.paused")
    assert page.locator("#told").inner_text() == "At 2:29"
    assert page.evaluate("document.activeElement.matches('article.finding')")


def test_a_file_that_cannot_be_played_is_told(opened):
    page = opened()
    page.locator("#take").set_input_files({"name": "take.mp4", "mimeType": "video/mp4", "buffer": b"no video"})
    until(page, "document.getElementById('told').textContent.includes('cannot play')")
    assert page.evaluate("document.getElementById('video').readyState") == 0


def shown(page):
    return page.locator(".list .findings > li").evaluate_all("all => all.filter(one => !one.hidden).length")


def test_findings_are_filtered_by_check_block_and_move(opened, sample):
    page = opened()
    assert shown(page) == len(sample.findings)
    page.locator("#by-block").select_option("Cargo")
    assert shown(page) == sum(f.block == "Cargo" for f in sample.findings)
    page.locator("#by-move").select_option("Split squat")
    own = [f for f in sample.findings if (f.block, f.move) == ("Cargo", "Split squat")]
    assert shown(page) == len(own) > 0
    low = sum((f.verdict, f.severity) == ("fail", "low") for f in own)
    assert page.locator(".list .group:visible h3 .count").all_inner_texts() == [str(low)]
    assert page.locator("#shown").inner_text() == f"{len(own)} of {len(sample.findings)} shown"
    page.locator("#by-check").select_option("count-broken")
    assert shown(page) == 0
    assert page.locator(".list .group:visible").count() == 0
    page.get_by_text("Show all").click()
    until(page, f"document.querySelectorAll('.findings > li:not([hidden])').length === {len(sample.findings)}")


def test_a_link_to_a_finding_that_is_filtered_out_shows_it(opened):
    page = opened()
    page.locator("#by-check").select_option("count-broken")
    page.locator(".first .message a").first.click()
    until(page, "document.activeElement.matches('article.finding')")
    assert page.locator("article.finding:focus").is_visible()


def test_by_keyboard_alone_to_the_findings_and_through_them(opened):
    page = opened()
    page.keyboard.press("Tab")
    assert page.locator(":focus").inner_text() == "Skip to the findings"
    page.keyboard.press("Enter")
    ids = page.locator(".list .findings article").evaluate_all("all => all.map(one => one.id)")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.id") == ids[0]
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.id") == ids[2]
    page.keyboard.press("ArrowLeft")
    assert page.evaluate("document.activeElement.id") == ids[1]
    page.keyboard.press("Tab")
    assert page.locator(":focus").get_attribute("data-at")
    page.locator("#by-check").focus()
    page.keyboard.press("ArrowRight")  # a select has its own use for arrows
    assert page.evaluate("document.activeElement.id") == "by-check"


def test_the_timeline_is_one_stop_and_arrows_go_on_inside(opened):
    page = opened()
    assert page.locator("#score a[tabindex='0']").count() == 1
    page.locator("#score a[tabindex='0']").focus()
    first = page.locator(":focus").get_attribute("aria-label")
    assert re.fullmatch(r"Casting off, round 1, Step touch: 0:\d\d to 0:\d\d, \d\d s of 30 s planned", first)
    page.keyboard.press("ArrowRight")
    assert "Good morning: 1:02" in page.locator(":focus").get_attribute("aria-label")
    page.keyboard.press("ArrowUp")
    assert page.locator(":focus").get_attribute("aria-label").startswith("Planned: Casting off, round 1, Good morning")
    page.keyboard.press("End")
    assert "Quad stretch right" in page.locator(":focus").get_attribute("aria-label")
    page.keyboard.press("Enter")
    assert re.fullmatch(r"#iv-\d+", page.evaluate("location.hash"))


def test_zoom_widens_the_lines(opened):
    page = opened()
    width = "document.querySelector('.line').getBoundingClientRect().width"
    usual = page.evaluate(width)
    for _ in range(3):
        page.get_by_role("button", name="Zoom in").click()
    assert page.evaluate(width) > 5 * usual
    assert page.evaluate("document.documentElement.scrollWidth") <= 1360
    assert page.locator("#in").get_attribute("aria-disabled") == "true"
    for _ in range(4):
        page.get_by_role("button", name="Zoom out").click()
    assert page.evaluate(width) < usual


def test_the_transcript_is_searched_across_marks_and_case(opened):
    page = opened()
    total = page.locator(".passage").count()
    page.locator("#sought").fill("FIFTEEN SECONDS left, make")  # the mark over the call ends inside
    assert page.locator("#hits").inner_text() == "1 found"
    assert page.locator(".passage:visible").count() == 1
    assert page.evaluate("CSS.highlights.get('sought').size") == 1
    page.locator("#sought").fill("nobody says this")
    assert page.locator("#hits").inner_text() == "0 found"
    page.locator("#sought").fill("")
    assert page.locator(".passage:visible").count() == total


def test_marks_are_shown_and_hidden_by_kind(opened):
    page = opened()
    names, counts = page.locator(".tag-name").first, page.locator(".tag-count").first
    assert (names.is_visible(), counts.is_visible()) == (False, True)
    page.get_by_role("checkbox", name="Move names").check()
    page.get_by_role("checkbox", name="Counts").uncheck()
    assert (names.is_visible(), counts.is_visible()) == (True, False)


def test_the_waive_command_is_copied(opened, sample):
    page = opened()
    card = finding(page, "count-broken")
    card.get_by_role("button", name="Copy the waive command").click()
    until(page, "document.querySelector('li[data-check=count-broken] .copy').textContent === 'Copied'")
    page.locator("#sought").focus()
    page.keyboard.press("Control+V")
    told = next(f for f in sample.findings if f.check == "count-broken")
    assert page.locator("#sought").input_value() == (
        f'class-analyzer waive {told.id} --plan plan.yaml --reason "why it may stay"'
    )


def test_without_scripts_all_is_there_to_read(opened, sample):
    page = opened(java_script_enabled=False)
    assert page.locator("article.finding:visible").count() == len(sample.findings)
    assert page.locator("button:visible, select:visible, input:visible").count() == 0
    assert page.locator("#score a.take").first.get_attribute("href") == "#iv-1"


def test_hostile_words_are_shown_as_words(opened, build, hostile_text, tmp_path):
    markup = '"><img src=x onerror=alert(1)> </q></style><script>alert(2)</script>'
    marked = f"{hostile_text} {markup} \u05e9\u05dc\u05d5\u05dd"
    audit = build(marked)
    audit = replace(audit, plan=replace(audit.plan, title=marked, coach=marked))
    path = tmp_path / "hostile.html"
    path.write_text(report_html(audit), encoding="utf-8")
    page = opened(path)  # a dialog, a request or an error of the policy fails the test
    visible = marked.replace("\x1b", "\ufffd")
    assert page.locator("h1").inner_text() == visible
    assert visible in page.locator("article.finding q").nth(1).inner_text()
    assert page.locator("img, iframe, object, main script, main style").count() == 0
    assert "\U0001f938\U0001f3fd" in page.locator(".words").inner_text()
    assert page.evaluate("document.scripts.length") == 1


def printed(page):
    """Return each page of the page's print as (width, height, text, character boxes), read by PDFium."""
    import pypdfium2

    document = pypdfium2.PdfDocument(io.BytesIO(page.pdf(format="A4")))
    for sheet in document:
        text = sheet.get_textpage()
        boxes = [text.get_charbox(n) for n in range(text.count_chars())]
        yield (*sheet.get_size(), text.get_text_range(), boxes)


def test_the_print_holds_everything_and_cuts_nothing(opened, sample):
    page = opened(color_scheme="dark")  # paper is white all the same
    page.locator("#sought").fill("harbour")  # what is filtered on the screen is printed in full
    sheets = list(printed(page))
    text = _letters(" ".join(sheet[2] for sheet in sheets))
    for told in (*CAUTIONS, *(f.message for f in sample.findings), *(f.advice for f in sample.findings)):
        assert _letters(told) in text
    assert "silence-long" in text  # the limits, folded away on the screen
    assert _letters(sample.transcript.captions[-1].text) in text
    for width, height, _, boxes in sheets:
        assert len(boxes) > 40  # no page is left all but empty
        assert all(left >= 20 and bottom >= 20 and right <= width - 20 and top <= height - 20
                   for left, bottom, right, top in boxes if right > left and top > bottom)  # fmt: skip


def test_in_print_no_box_hides_what_it_holds(opened):
    page = opened(width=703, height=1000)  # A4 less its margins, in CSS pixels
    page.emulate_media(media="print")
    cut = page.evaluate(
        """() => [...document.querySelectorAll("main *")]
        .filter((one) => one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).overflowX !== "visible")
        .filter((one) => !one.matches(".bar, .short, .hush, .ruler"))
        .map((one) => one.outerHTML.slice(0, 80))"""
    )
    assert cut == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 703


def _letters(text):
    """Return the letters and digits alone: a print breaks lines and pages anywhere else."""
    return re.sub(r"[^\w-]+|-\s+", "", text).replace("\ufffe", "")
