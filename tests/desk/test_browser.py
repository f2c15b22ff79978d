"""The desk as it is used: in Chromium, at a desk and on a phone, in both lights, by keyboard, without the network."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from fieldfare.sheets.drawing.marks import Panel, Tape, Words
from fieldfare.sheets.drawing.svg import panels_svg
from fieldfare.sheets.strips import Strip
from fieldfare.show.toml import read_show

BASE = "/shows/midwinter-dance"
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
SIZES = [(1440, 900), (390, 844)]
OpenPage = Callable[..., Page]
WALK = (
    "/",
    "/share",
    *(
        f"{BASE}/{page}"
        for page in (
            "lineup", "inputs?open=fiddle-mic", "stage", "advance", "patch", "power", "pack", "sheets", "kit",
            "history", "now", "check", "check/kick/swap", "count?way=back", "marks", "watch", "offload", "tracks",
            "songs", "timing", "rough", "pictures", "handover", "kit/units/M-01",
        )
    ),
)  # fmt: skip


def _serious(page: Page) -> list[str]:
    """What axe-core finds that is serious or worse; the driver puts it in, as the page's own policy would not."""
    page.evaluate(AXE)
    found: dict[str, Any] = page.evaluate("axe.run({ resultTypes: ['violations'] })")
    return [
        f"{one['id']}: {node['target']} {node.get('failureSummary', '')[:200]}"
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"][:3]
    ]


def _show(folder: Path) -> Any:
    return read_show(folder / "midwinter-dance").show


@pytest.mark.parametrize("light", ["paper", "stage"])
@pytest.mark.parametrize(("wide", "high"), SIZES)
def test_no_page_has_a_serious_fault_or_is_wider_than_the_screen(
    open_page: OpenPage, wide: int, high: int, light: str
) -> None:
    page = open_page("/", wide=wide, high=high, light=light)
    origin = page.url.rstrip("/")
    wrong: dict[str, object] = {}
    for path in WALK:
        page.goto(origin + path)
        if faults := _serious(page):
            wrong[path] = faults
        if (width := page.evaluate("document.documentElement.scrollWidth")) > wide:
            wrong[f"{path} is too wide"] = width
    assert wrong == {}


@pytest.mark.parametrize("path", [f"{BASE}/check", f"{BASE}/count", f"{BASE}/marks"])
def test_what_a_thumb_presses_on_a_phone_is_large_enough(open_page: OpenPage, path: str) -> None:
    page = open_page(path, wide=390, high=844, light="stage")
    sizes = page.eval_on_selector_all(
        ".night button, .night a.chip",
        "all => all.filter(one => one.offsetParent).map(one => [one.textContent, one.offsetWidth, one.offsetHeight])",
    )
    assert [one for one in sizes if one[1] < 48 or one[2] < 48] == []


def test_no_hop_of_a_line_lies_under_the_buttons_on_a_phone(open_page: OpenPage) -> None:
    page = open_page(f"{BASE}/check", wide=390, high=844, light="stage")
    hidden = page.evaluate(
        """() => [...document.querySelectorAll("section.line")].filter(line => {
            document.querySelectorAll("section.line").forEach(one => { one.hidden = one !== line; });
            const hop = line.querySelector(".hop:last-child").getBoundingClientRect();
            return hop.bottom > line.querySelector(".keys").getBoundingClientRect().top;
        }).map(line => line.id)"""
    )
    assert page.locator("section.line").count() > 10
    assert hidden == []


def test_the_length_on_a_strip_of_the_drawing_does_not_lie_on_its_colour(open_page: OpenPage) -> None:
    """In every colour of IEC 60062 and at lengths of narrow and of wide letters, in the font as the browser sets it."""
    colours = ["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"]
    lengths = [f"{colour}, {metres} m" for colour in colours for metres in ("5", "10", "2.5", "10 m + 25")]
    tapes = tuple(
        Tape((0.0, 5.0 * row), Strip("1", "Voice", ("brown",), length), (60.0, 4.2))
        for row, length in enumerate(lengths)
    )
    page = open_page(f"{BASE}/stage")
    beside = page.evaluate(
        """async drawn => {
            const drawing = document.querySelector("svg.drawing");
            drawing.innerHTML = drawn;
            await document.fonts.ready;
            return [...drawing.querySelectorAll("text.end")].map(length => [length.textContent,
                length.getBoundingClientRect().left - length.previousElementSibling.getBoundingClientRect().right]);
        }""",
        panels_svg((Panel((0.0, 0.0, 60.0, 5.0 * len(tapes)), tapes),)),
    )
    assert [text for text, _ in beside] == lengths
    assert [one for one in beside if one[1] < 0] == []


def test_a_caption_of_the_drawing_is_broken_only_where_its_room_ends(open_page: OpenPage) -> None:
    """Each in the room it has on paper: broken it is where one line would be too wide in the font as it is set."""
    captions = ("B-01, 5 of 8 lines, tail 10 m", "House box, house, 24 lines", "trunk TR-01, 25 m, to the recordist")
    rooms = (34.0, 34.0, 24.0)
    words = tuple(
        Words((0.0, 10.0 * row), text, "name", room)
        for row, (text, room) in enumerate(zip(captions, rooms, strict=True))
    )
    page = open_page(f"{BASE}/stage")
    lines = page.evaluate(
        """async drawn => {
            const drawing = document.querySelector("svg.drawing");
            drawing.innerHTML = drawn;
            await document.fonts.ready;
            return [...drawing.querySelectorAll("text")].map(line => [line.textContent, line.getBBox().width]);
        }""",
        panels_svg((Panel((0.0, 0.0, 60.0, 40.0), words),)),
    )
    assert [text for text, _ in lines] == [*captions[:2], "trunk TR-01, 25 m, to", "the recordist"]
    assert [one for one in lines if one[1] > 34.0] == []


def test_the_stage_light_has_no_white_and_contrast_of_seven_to_one(open_page: OpenPage) -> None:
    page = open_page("/", wide=390, high=844, light="stage")
    origin = page.url.rstrip("/")
    rules = {"runOnly": {"type": "rule", "values": ["color-contrast-enhanced"]}}
    large = """all => all
        .filter(one => one.offsetWidth * one.offsetHeight > 900)
        .map(one => [one.outerHTML.slice(0, 80), getComputedStyle(one).backgroundColor])"""
    white = r"rgb\((2[0-4]\d|25\d), (2[0-4]\d|25\d), (2[0-4]\d|25\d)\)"
    for path in WALK:
        page.goto(origin + path)
        page.evaluate(AXE)
        found = page.evaluate("rules => axe.run(document, rules)", rules)
        assert [(path, node["target"]) for one in found["violations"] for node in one["nodes"]] == []
        grounds = page.eval_on_selector_all("body, body *", large)
        assert [(path, one) for one in grounds if re.match(white, one[1])] == []


def test_a_show_is_begun_typed_and_planned_by_keyboard_alone(open_page: OpenPage, folder: Path) -> None:
    page = open_page("/")

    def press_until(selector: str, most: int = 80) -> None:
        for _ in range(most):
            page.keyboard.press("Tab")
            if page.evaluate("selector => document.activeElement.matches(selector)", selector):
                return
        here = page.evaluate("document.activeElement.outerHTML.slice(0, 200)")
        raise AssertionError(f"the keyboard does not reach {selector}, only {here}")

    press_until("form.new input[name=title]")
    page.keyboard.type("Keys only")
    press_until("input[name=date]")
    page.keyboard.type("06012027")
    press_until("select[name=venue_like]")
    page.keyboard.press("ArrowDown")
    press_until("form.new button.do")
    page.keyboard.press("Enter")
    page.wait_for_url("**/lineup")
    press_until("textarea[name=text]")
    page.keyboard.type("drums, bass, two vocals")
    press_until("form button.do")
    page.keyboard.press("Enter")
    expect(page.get_by_text("4 sources understood")).to_be_visible()
    press_until("form.read button.do")
    page.keyboard.press("Enter")
    expect(page.get_by_text("4 sources added.")).to_be_visible()
    press_until("nav.days a[href$='/inputs']")
    page.keyboard.press("Enter")
    page.wait_for_url("**/inputs")
    expect(page.get_by_role("heading", name="Keys only, inputs")).to_be_visible()
    press_until("tr[data-id] a.strip")
    page.keyboard.press("Enter")
    expect(page.locator(".opened-thread")).to_be_visible()
    assert len(read_show(folder / "keys-only").show.sources) == 4


def test_a_row_is_moved_by_its_grip_and_by_the_arrow_keys(open_page: OpenPage, folder: Path) -> None:
    page = open_page(f"{BASE}/inputs")
    grip = page.get_by_role("button", name=re.compile("Move Tom 1"))
    grip.focus()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_text("Tom 1: number 4.")).to_be_visible()
    expect(page.locator("tr[data-id=tom-1]")).to_have_attribute("data-number", "4")
    start, end = (
        page.locator("tr[data-id=kick] .grip").bounding_box(),
        page.locator("tr[data-id=snare-top]").bounding_box(),
    )
    assert start is not None
    assert end is not None
    page.mouse.move(start["x"] + 5, start["y"] + 5)
    page.mouse.down()
    page.mouse.move(end["x"] + 40, end["y"] + end["height"] / 2, steps=4)
    page.mouse.up()
    expect(page.locator("tr[data-id=kick]")).to_have_attribute("data-number", "2")
    page.get_by_role("button", name=re.compile("Undo")).click()
    expect(page.locator("tr[data-id=kick]")).to_have_attribute("data-number", "1")


def test_a_source_is_dragged_and_the_drawing_follows_before_it_is_kept(open_page: OpenPage, folder: Path) -> None:
    page = open_page(f"{BASE}/stage")
    handle = page.locator('.handle[data-name="Trumpet"]')
    box = handle.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    before = page.locator("svg.drawing").inner_html()
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 60, y - 60, steps=3)
    follows = "before => document.querySelector('svg.drawing').innerHTML !== before && document.querySelector('.held')"
    page.wait_for_function(follows, arg=before)
    assert next(one for one in _show(folder).sources if one.name == "Trumpet").at == (2.8, 1.6)
    page.mouse.up()
    expect(page.get_by_text(re.compile(r"Trumpet: .* m across"))).to_be_visible()
    at = next(one for one in _show(folder).sources if one.name == "Trumpet").at
    assert at[0] < 2.8
    assert at[1] > 1.6


@pytest.mark.parametrize("good", [True, False])
def test_a_drop_stands_there_at_once_says_that_it_is_planned_and_goes_back_if_it_is_not_kept(
    open_page: OpenPage, folder: Path, good: bool
) -> None:
    page = open_page(f"{BASE}/stage")
    handle = page.locator('.handle[data-name="Fiddle"]')
    circle = handle.locator("circle")
    was = re.compile(f"^{float(str(circle.get_attribute('cx'))):g}(\\.0+)?$")
    held: list[Route] = []
    page.route("**/stage/place", lambda route: held.append(route))
    handle.focus()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("#planning")).to_have_text("Fiddle is put down here. The plan with it there is being made.")
    expect(circle).not_to_have_attribute("cx", was)
    expect(page.locator(".sheet")).to_have_attribute("aria-busy", "true")
    while not held:  # the request is on its way to this thread
        page.wait_for_timeout(20)
    sent = str(held[0].request.post_data)
    held[0].continue_(post_data=sent if good else sent.replace("name=Fiddle", "name=Nobody"))
    expect(page.locator("#planning")).to_have_count(0)
    expect(page.locator(".sheet")).not_to_have_attribute("aria-busy", "true")
    if good:
        expect(page.get_by_text("Fiddle: −0.6 m across, 1.1 m upstage.")).to_be_visible()
    else:
        expect(circle).to_have_attribute("cx", was)
        expect(page.locator("#fault")).to_contain_text("There is no such source")
    assert next(one for one in _show(folder).sources if one.name == "Fiddle").at[0] == (-0.6 if good else -1.1)


def test_a_source_is_moved_by_arrow_keys_and_put_back_by_escape(open_page: OpenPage, folder: Path) -> None:
    page = open_page(f"{BASE}/stage")
    page.locator('.handle[data-name="Fiddle"]').focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Escape")
    expect(page.locator('.handle[data-name="Fiddle"]')).to_be_focused()
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Fiddle: −1.1 m across, 1.6 m upstage.")).to_be_visible()
    assert next(one for one in _show(folder).sources if one.name == "Fiddle").at == (-1.1, 1.6)


def test_a_fault_stands_above_the_form_and_what_was_typed_stays(open_page: OpenPage) -> None:
    page = open_page(f"{BASE}/inputs?open=kick")
    number = page.locator("input[name=channel]")
    number.fill("99")
    page.get_by_role("button", name="Pin and plan again").click()
    expect(page.locator("#fault")).to_contain_text("99")
    expect(number).to_have_value("99")


def test_two_phones_tick_one_loses_the_network_and_each_event_arrives_once(open_page: OpenPage, desk_at: str) -> None:
    one = open_page(f"{BASE}/check", wide=390, high=844, light="stage")
    other = open_page(f"{BASE}/check", wide=390, high=844, light="stage")
    one.get_by_role("button", name="Heard on 1, clean").click()
    expect(one.get_by_role("button", name="Heard on 2, clean")).to_be_visible()
    expect(other.locator("[data-counts]")).to_have_text("1 checked, 0 faulty, 19 to go", timeout=8000)
    one.context.set_offline(True)
    one.get_by_role("button", name="Heard on 2, clean").click()
    one.locator("section.line:visible input[name=text]").fill("hum")
    one.locator("section.line:visible").get_by_role("button", name="Wrong or silent").click()
    expect(one.locator("[data-waiting]")).to_have_text("2 not sent yet; kept on this device")
    expect(one.locator("[data-counts]")).to_have_text("2 checked, 1 faulty, 17 to go")
    other.locator("[data-chip=room-left]").click()
    other.locator("section.line:visible").get_by_role("button", name=re.compile("clean")).click()
    one.context.set_offline(False)
    for phone in (one, other):
        expect(phone.locator("[data-counts]")).to_have_text("3 checked, 1 faulty, 16 to go", timeout=12_000)
    expect(one.locator("[data-waiting]")).to_have_text("")
    news = one.request.get(f"{desk_at}{BASE}/events", headers={"accept": "application/json"}).json()
    assert sorted(event["kind"] for event in news["event"]) == ["checked", "checked", "checked", "faulty"]


def test_units_are_counted_by_a_typed_tag_and_by_a_tap(open_page: OpenPage) -> None:
    page = open_page(f"{BASE}/count", wide=390, high=844, light="stage")
    page.get_by_label("Tag").fill("m-01")
    page.keyboard.press("Enter")
    expect(page.locator("[data-unit=M-01]")).to_have_attribute("aria-pressed", "true")
    page.locator("[data-unit=M-02]").click()
    expect(page.locator("[data-counts]")).to_contain_text("2 of")
    page.locator("[data-unit=M-02]").click()
    expect(page.locator("[data-counts]")).to_contain_text("1 of")
    page.get_by_label("Tag").fill("Z-77")
    page.keyboard.press("Enter")
    expect(page.locator("[data-unknown]")).to_contain_text("Z-77 is not on the pack list")


def test_a_song_is_marked_and_the_next_one_stands_ready(open_page: OpenPage) -> None:
    page = open_page(f"{BASE}/marks", wide=390, high=844, light="stage")
    page.get_by_role("button", name="Begins: Slack Water Reel").click()
    expect(page.get_by_role("button", name="Begins: The Caulker's Polka")).to_be_visible()
    expect(page.locator("[data-marks] li")).to_contain_text(["song: Slack Water Reel"])


def test_everything_but_dragging_works_without_scripts(browser: Any, desk_at: str, folder: Path) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(f"{desk_at}{BASE}/inputs?open=kick")
    page.get_by_label("Mic or DI").select_option("M-05")
    page.get_by_role("button", name="Pin and plan again").click()
    expect(page.get_by_text("Kick: decided by hand.")).to_be_visible()
    page.goto(f"{desk_at}{BASE}/check")
    page.get_by_role("button", name="Heard on 1, clean").click()
    expect(page.get_by_text("1 checked, 0 faulty, 19 to go")).to_be_visible()
    page.get_by_role("button", name="Stage").first.click()
    assert page.locator("html").get_attribute("data-light") == "stage"
    context.close()


def test_names_of_any_script_and_length_stay_within_the_page(open_page: OpenPage, folder: Path) -> None:
    file = folder / "midwinter-dance" / "show.toml"
    text = file.read_text("utf-8")
    for name, other in (
        ("Fiddle", "Βιολί της Αντιγόνης και των άλλων παιδιών από το νησί μας, α"),
        ("Trumpet", "ทรัมเป็ตตัวที่หนึ่งของวงดนตรีพื้นบ้านจากริมแม่น้ำทางตอนเหนือ"),
        ("Clarinet", '<b>Clarinet</b> & "quotes" \''.replace('"', '\\"')),
    ):
        text = text.replace(f'"{name}"', f'"{other}"')
    file.write_text(text, "utf-8")
    for path in ("inputs", "stage", "check", "patch", "lineup"):
        page = open_page(f"{BASE}/{path}", wide=390, high=844)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        expect(page.locator("body")).to_contain_text("Βιολί της Αντιγόνης")
        assert page.locator("main b b").count() == 0
