"""The trend's page in a real browser; accessibility judged by axe-core, reflow by WCAG 2.2, criterion 1.4.10."""

import pytest

from analyzer.library.trend import make_trend
from analyzer.library.trend_html import trend_html
from tests.library.test_trend import facts, library
from tests.reports.page.browser import chromium

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def browser():
    path = chromium()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path)
        yield opened
        opened.close()


@pytest.mark.parametrize(("scheme", "width"), [("light", 1360), ("dark", 1360), ("light", 320)])
def test_the_page_is_readable_by_all_and_asks_for_nothing(browser, tmp_path, scheme, width):
    from axe_playwright_python.sync_playwright import Axe

    path = tmp_path / "trend.html"
    rows = [*library(), facts("spring/odd", over_s=-260.0)]
    path.write_text(trend_html(make_trend(rows), {"spring/odd": "report.html"}), encoding="utf-8")
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    said, asked = [], []
    page.on("console", lambda message: said.append(message.text))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(path.as_uri())
    result = Axe().run(page, options={"resultTypes": ["violations"]})
    assert [(v["id"], v["nodes"][0]["html"][:200]) for v in result.response["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert (said, asked) == ([], [path.as_uri()])
    context.close()
