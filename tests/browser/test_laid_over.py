"""Looking closer in a real browser: firings laid over one another, zoomed and reset; the curtains drawn."""

from __future__ import annotations

import pytest

from browser.conftest import PHONE, TABLET

#: As left of the reflex in `fill.py`; as found stands beside it.
READING = "/reading/7/"
SPAN = """() => {
    const roots = Bokeh.documents.flatMap((one) => one.roots());
    const charts = roots.filter((one) => one.x_range?.name === "time");
    const range = charts.at(-1).x_range;
    return range.end - range.start;
}"""


def drawn(page, chart: str) -> None:
    place = page.locator(f"[data-chart*='{chart}']")
    place.scroll_into_view_if_needed()
    place.locator("canvas").first.wait_for(timeout=30_000)


def lay(page, name: str) -> None:
    """Tap a tile: another chart comes in."""
    with page.expect_response("**/laid-over.json?*"):
        page.locator(name).check()
    drawn(page, "laid-over.json")


@pytest.mark.parametrize("device", [PHONE, TABLET], ids=["phone", "tablet"])
def test_firings_are_chosen_laid_over_zoomed_and_reset(filled, opened, device):
    context, _ = opened(filled.url, **device)
    page = context.new_page()
    page.goto(filled.url + READING)
    drawn(page, "laid-over.json")
    assert page.locator("#laid tbody tr").count() == 2, "as found and as left"
    lay(page, "#lay-4")
    lay(page, "#lay-half")
    assert page.locator("#laid tbody tr").count() == 3
    assert page.url.endswith("align=half"), "a reload shows the same"
    whole = page.evaluate(SPAN)
    page.get_by_role("button", name="Closer").tap()
    assert page.evaluate(SPAN) == pytest.approx(whole / 2)
    page.get_by_role("button", name="Later").tap()
    page.get_by_role("button", name="Whole").tap()
    assert page.evaluate(SPAN) == pytest.approx(whole)
    for button in page.locator("[data-zooms] button").all():
        assert button.bounding_box()["height"] >= 44
    page.reload()
    assert page.locator("#laid tbody tr").count() == 3


def test_the_wheel_zooms_once_the_chart_was_pressed_and_scrolls_the_page_until_then(filled, opened):
    context, _ = opened(filled.url, viewport={"width": 1280, "height": 800})
    page = context.new_page()
    page.goto(filled.url + READING)
    drawn(page, "laid-over.json")
    chart = page.locator("[data-chart*='laid-over.json']")
    whole = page.evaluate(SPAN)
    chart.hover()
    page.mouse.wheel(0, -60)
    page.wait_for_timeout(300)
    assert page.evaluate(SPAN) == pytest.approx(whole)
    chart.click()
    page.mouse.wheel(0, -60)
    page.wait_for_timeout(300)
    assert page.evaluate(SPAN) < 0.95 * whole


def test_the_curtains_are_drawn(filled, opened):
    context, _ = opened(filled.url, **TABLET)
    page = context.new_page()
    page.goto(filled.url + READING)
    drawn(page, "curtains.json")
    place = page.locator("[data-chart*='curtains.json']")
    assert place.get_attribute("aria-label")
    # more than one colour on the sheet: something is on it
    colours = place.locator("canvas").first.evaluate(
        """(it) => new Set(
            new Uint32Array(it.getContext("2d").getImageData(0, 0, it.width, it.height).data.buffer)
        ).size"""
    )
    assert colours > 10


def test_without_javascript_the_table_and_the_button_are_there(filled, opened):
    context, _ = opened(filled.url, java_script_enabled=False, **TABLET)
    page = context.new_page()
    page.goto(filled.url + READING)
    page.locator("#lay-4").check()
    page.get_by_role("button", name="Lay them over one another").click()
    assert page.locator("#laid tbody tr").count() == 3
    assert page.locator("[data-zooms]").is_hidden()
