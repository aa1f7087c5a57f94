"""The page can be used by keyboard, by touch, in the dark, enlarged, and by axe-core's account."""

import re

import pytest

from sitefare.outputs.page import page, stylesheet

from .conftest import SMALL_SET

#: Side that every target has at least, or keeps free around it (WCAG 2.2, 2.5.8). [px]
TARGET = 24

#: Spacing that a reader may ask for without loss (WCAG 2.2, 1.4.12).
SPACING = """* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
    word-spacing: 0.16em !important; } p { margin-bottom: 2em !important; }"""

FOCUSED = """(() => { const e = document.activeElement, s = getComputedStyle(e),
    b = e.getBoundingClientRect(), bar = document.querySelector('nav').getBoundingClientRect();
    const covered = innerWidth <= 1024 && !e.closest('nav') && !e.matches('.skip')
        && b.bottom <= bar.bottom;
    return [e.tagName + '.' + e.className + '#' + (e.id || e.getAttribute('href') || ''),
        s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2,
        b.bottom > 0 && b.top < innerHeight && !covered]; })()"""

REACHABLE = """[...document.querySelectorAll(
    'a[href], button, input, select, summary, [tabindex="0"]')].filter(
    e => e.checkVisibility({checkVisibilityCSS: true})
        && !(e.closest('details:not([open])') && !e.matches('summary'))).length"""


@pytest.fixture(scope="module")
def html(document):
    return page(document)


@pytest.fixture(scope="module")
def whole(proposals):
    return page(proposals("port_anui", "grant_and_soft_loan").document)


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_an_audit_finds_nothing(html, visit, audit, width, colours):
    assert audit(visit(html, width, color_scheme=colours)) == []


@pytest.mark.parametrize(("site", "colours"), [(n, c) for n in range(4) for c in ("light", "dark")])
def test_an_audit_of_a_proposal_finds_nothing(proposals, visit, audit, site, colours):
    html = page(proposals(*SMALL_SET[site]).document)
    width = 1280 if (site % 2 == 0) == (colours == "light") else 390
    assert audit(visit(html, width, color_scheme=colours)) == []


def test_an_audit_finds_what_is_wrong(html, visit, audit):
    reader = visit(html.replace('<html lang="en"', "<html"))
    reader.add_style_tag(content="figcaption { color: #bbb !important }")
    assert {rule for rule, _, _ in audit(reader)} == {"html-has-lang", "color-contrast"}


@pytest.mark.parametrize("width", [1280, 390])
def test_the_tab_key_reaches_everything_and_leaves_again(html, visit, width):
    reader = visit(html, width)
    asked, seen = reader.evaluate(REACHABLE), []
    for _ in range(asked + 5):
        reader.keyboard.press("Tab")
        name, ringed, visible = reader.evaluate(FOCUSED)
        if name.startswith("BODY"):
            break
        assert ringed, name
        assert visible, name
        seen.append(name)
    assert seen[0] == "A.skip##main"
    assert len(seen) == asked
    reader.keyboard.press("Shift+Tab")  # and back again from the end
    assert reader.evaluate(FOCUSED)[0] == seen[-1]


def test_the_skip_link_leads_past_the_contents(html, visit):
    reader = visit(html)
    reader.keyboard.press("Tab")
    reader.keyboard.press("Enter")
    assert reader.evaluate("document.activeElement.id") == "main"
    reader.keyboard.press("Tab")
    assert reader.evaluate("!!document.activeElement.closest('main')")


def tip(reader):
    return reader.evaluate("(document.querySelector('.tip') || {}).textContent || ''")


def said(reader):
    return reader.evaluate(
        """[...document.querySelectorAll('.chart')[0].querySelectorAll('[data-said]')]
           .filter(m => m.getClientRects().length).map(m => m.dataset.said)"""
    )


def test_arrow_keys_read_a_chart_and_escape_puts_its_words_away(html, visit):
    reader = visit(html)
    words = said(reader)
    reader.locator(".reader").first.focus()
    reader.keyboard.press("Home")
    assert tip(reader) == words[0]
    for place in (1, 2):
        reader.keyboard.press("ArrowRight")
        assert tip(reader) == words[place]
        told = reader.locator(".reader").first
        assert told.get_attribute("aria-valuetext") == words[place]
        assert told.get_attribute("aria-valuenow") == str(place + 1)
    reader.keyboard.press("End")
    assert tip(reader) == words[-1]
    reader.keyboard.press("Escape")
    assert tip(reader) == ""
    assert reader.evaluate("document.activeElement.className") == "reader"
    reader.keyboard.press("ArrowLeft")
    assert tip(reader) == words[-2]
    reader.keyboard.press("Tab")
    assert tip(reader) == ""


def test_pointing_shows_words_that_stay_while_they_are_pointed_at(html, visit):
    reader = visit(html)
    chart = reader.locator(".chart").first
    chart.scroll_into_view_if_needed()
    mark = chart.locator(".for-wide [data-said]").nth(20)
    box = mark.bounding_box()
    reader.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    shown = tip(reader)
    assert shown in said(reader)
    reader.wait_for_timeout(1200)
    assert tip(reader) == shown  # it persists
    place = reader.locator(".tip").bounding_box()
    reader.mouse.move(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    reader.wait_for_timeout(900)
    assert tip(reader) == shown  # it can be pointed at
    reader.keyboard.press("Escape")
    assert tip(reader) == ""  # it can be dismissed without moving the pointer
    reader.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    assert tip(reader) == shown
    reader.mouse.move(5, 5)
    reader.wait_for_timeout(900)
    assert tip(reader) == ""


def test_a_finger_reads_a_chart(html, visit):
    reader = visit(html, 390, has_touch=True, is_mobile=True)
    mark = reader.locator(".chart .for-narrow [data-said]").nth(20)
    mark.scroll_into_view_if_needed()
    box = mark.bounding_box()
    reader.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    assert tip(reader) in said(reader)
    place = reader.locator(".tip").bounding_box()
    assert place["x"] >= 0
    assert place["x"] + place["width"] <= 390
    reader.touchscreen.tap(8, 450)
    assert tip(reader) == ""


def test_a_long_table_filters_and_sorts_by_keyboard(html, visit):
    reader = visit(html)
    rows = "[...document.querySelectorAll('#list tbody tr')].filter(r => !r.hidden).map(r => r.id)"
    reader.locator("#list-filter").focus()
    reader.keyboard.type("number_6 LENGTH")
    assert reader.evaluate(rows) == ["row-6", *(f"row-{n}" for n in range(60, 70))]
    assert reader.locator("#list .count").text_content() == "11 of 70 rows shown."
    assert reader.locator("#list .count").get_attribute("role") == "status"
    reader.locator("#list thead button").nth(1).focus()
    for way, first in (("ascending", "row-6"), ("descending", "row-69")):
        reader.keyboard.press("Enter")
        head = reader.locator("#list thead th").nth(1)
        assert head.get_attribute("aria-sort") == way
        assert reader.evaluate(rows)[0] == first
    assert "greatest first" in reader.locator("#list [role=status].unseen").text_content()
    reader.locator("a[href='#row-3']").click()  # a link to a row that is filtered away
    assert len(reader.evaluate(rows)) == 70
    assert reader.locator("#list-filter").input_value() == ""


def test_the_contents_follow_and_fold_on_a_telephone(html, visit):
    reader = visit(html, 390)
    assert not reader.evaluate("document.querySelector('nav details').open")
    reader.locator("nav summary").focus()
    reader.keyboard.press("Enter")
    assert reader.evaluate("document.querySelector('nav details').open")
    reader.keyboard.press("Escape")
    assert not reader.evaluate("document.querySelector('nav details').open")
    assert reader.evaluate("document.activeElement.tagName") == "SUMMARY"
    reader.keyboard.press("Enter")
    reader.locator("nav a", has_text="About").click()
    reader.wait_for_timeout(200)
    assert not reader.evaluate("document.querySelector('nav details').open")
    assert reader.locator("nav .now").text_content() == "About Demo site"
    current = reader.locator("nav [aria-current]")
    assert current.count() == 1
    assert current.get_attribute("href") == "#about-demo-site"


def test_colours_follow_the_device_unless_they_are_chosen(html, visit):
    ground = "getComputedStyle(document.body).backgroundColor"
    dark = visit(html, color_scheme="dark")
    by_device = dark.evaluate(ground)
    dark.locator("#colours").select_option("light")
    assert dark.evaluate(ground) == "rgb(255, 255, 255)"
    dark.reload()
    assert dark.evaluate(ground) == "rgb(255, 255, 255)"
    light = visit(html, color_scheme="light")
    assert light.evaluate(ground) == "rgb(255, 255, 255)"
    light.locator("#colours").select_option("dark")
    assert light.evaluate(ground) == by_device != "rgb(255, 255, 255)"
    paint = "getComputedStyle(document.querySelector('.turns svg rect')).fill"
    assert light.evaluate(paint) == by_device
    light.emulate_media(media="print")
    assert light.evaluate(ground) == "rgb(255, 255, 255)"
    assert light.evaluate(paint) == "rgb(255, 255, 255)"


@pytest.mark.parametrize("width", [1280, 390])
def test_targets_are_large_enough(whole, visit, width):
    reader = visit(whole, width)
    small = reader.evaluate(
        f"""[...document.querySelectorAll(
            'nav a, summary, button, input, select, td a, th a, .made a')]
            .filter(e => e.checkVisibility() && e.getClientRects().length)
            .map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])
            .filter(([, b]) => b.width < {TARGET} || b.height < {TARGET})
            .map(([name, b]) => [name, b.width, b.height])"""
    )
    assert small == []


@pytest.mark.parametrize("width", [1280, 320])
def test_wide_spacing_loses_nothing(whole, visit, width):
    reader = visit(whole, width)
    reader.add_style_tag(content=SPACING)
    assert reader.evaluate("document.documentElement.scrollWidth") <= width
    cut = reader.evaluate(
        """[...document.querySelectorAll('main *, header *')].filter(e =>
            !e.closest('svg') && !e.matches('.unseen, .scroll, .reader')
            && getComputedStyle(e).overflow !== 'visible' && e.scrollHeight > e.clientHeight + 2)
            .map(e => e.outerHTML.slice(0, 80))"""
    )
    assert cut == []


def test_nothing_moves(html, visit):
    moving = visit(html).evaluate(
        """[...document.querySelectorAll('*')].filter(e => { const s = getComputedStyle(e);
            return s.animationName !== 'none' || parseFloat(s.transitionDuration) > 0
                || s.scrollBehavior === 'smooth'; }).length"""
    )
    assert moving == 0


def test_without_its_script_everything_reads(html, visit):
    reader = visit(html, java_script_enabled=False)
    assert reader.locator("#list tbody tr").count() == 70
    assert reader.locator(".finder, .reader, #colours").count() == 0
    assert reader.locator("nav details[open] a").first.is_visible()
    reader.locator("details.data summary").first.click()
    assert reader.locator("details.data table").first.is_visible()


def test_the_style_holds_from_right_to_left(html, visit):
    css = re.sub(r"@(bottom|top)-(left|right)", "", stylesheet())
    assert (
        re.findall(r"(?:margin|padding|border)-(?:left|right)|text-align: *(?:left|right)", css)
        == []
    )
    assert re.findall(r"[;{ ](?:left|right): *", css) == []
    for width in (1280, 390):
        reader = visit(html.replace('dir="ltr"', 'dir="rtl"'), width)
        assert reader.evaluate("document.documentElement.scrollWidth") <= width
        start = reader.evaluate("document.querySelector('h2').getBoundingClientRect().right")
        assert start > width / 2
