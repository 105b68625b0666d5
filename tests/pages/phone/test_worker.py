"""The worker and what waits, in a real browser: pages read and entries written without a network, warnings shown."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

from tests.alerts.phones import Phone
from tests.pages.conftest import CHROMIUM, QUIET
from tests.pages.phone.test_phone import ENDPOINT, channels, subscription
from tests.pages.test_today import entries

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, BrowserContext, Page, Route, ViewportSize

    from tests.pages.serving import Served

PIXELS: ViewportSize = {"width": 390, "height": 844}
WAIT = "document.querySelectorAll('form[hx-post]').forEach((form) => { form.dataset.waits = 'entry_id'; })"
CONTROLLED = "navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null)"


def until(page: Page, what: str, told: object = None) -> None:
    """Wait for a promise of the page to come true; the browser's own wait takes any promise for true."""
    for _ in range(200):
        if page.evaluate(what, told):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"never true: {what}")


@pytest.fixture
def held(browser: Browser, served: Served) -> Iterator[BrowserContext]:
    """Give a phone's browser that may show messages."""
    context = browser.new_context(viewport=PIXELS, has_touch=True, is_mobile=True, base_url=served.url)
    context.set_default_timeout(30_000)
    context.grant_permissions(["notifications"])
    yield context
    context.close()


@pytest.fixture
def page(held: BrowserContext) -> Page:
    """Give the page of today, read twice: the worker is there from the second time on."""
    made = held.new_page()
    made.goto("/")
    until(made, CONTROLLED)
    made.goto("/")
    until(made, "caches.open('pages').then((kept) => kept.keys()).then((all) => all.length > 0)")
    return made


def test_a_page_that_was_read_is_read_again_without_a_network(page: Page, held: BrowserContext) -> None:
    heading = page.locator("h1").inner_text()
    held.set_offline(True)
    page.goto("/")
    assert page.locator("h1").inner_text() == heading
    assert page.get_by_text("No network: this is the page as it was read on").is_visible()
    style = page.evaluate("getComputedStyle(document.querySelector('header')).borderBottomStyle")
    assert style == "double"  # its style sheet was kept as well
    page.goto("/season")
    assert page.locator("h1").inner_text() == "No network"
    assert page.get_by_role("link", name="/", exact=True).is_visible()
    held.set_offline(False)
    page.goto("/")
    assert page.get_by_text("No network").count() == 0


def test_nothing_is_kept_of_what_is_no_page_or_secret(page: Page) -> None:
    page.goto("/enter")
    until(page, "caches.has('pages').then((kept) => !kept)")  # whoever comes next reads nothing
    page.goto("/phone")
    page.evaluate("fetch('/phone/token')")
    page.goto("/nowhere")
    page.goto("/openapi.json")
    until(page, "caches.has('pages')")
    kept = page.evaluate(
        "caches.open('pages').then((all) => all.keys()).then((all) => all.map((one) => new URL(one.url).pathname))"
    )
    assert kept == ["/phone"]


def test_a_page_that_asks_to_wait_is_not_kept(page: Page, held: BrowserContext) -> None:
    """It stands at the address of the page that is being worked out."""
    page.evaluate("caches.delete('pages')")
    bare = "<!doctype html><title>One moment</title><main><p>The plan is being worked out.</p></main>"
    held.route(f"{page.url}", lambda route: route.fulfill(body=bare, content_type="text/html"))
    page.goto("/")
    assert page.title() == "One moment"
    page.wait_for_timeout(300)
    assert page.evaluate("caches.match('/').then((found) => found === undefined)")


def test_an_older_version_of_the_files_is_let_go(page: Page) -> None:
    page.evaluate("caches.open('files-older')")
    page.evaluate("navigator.serviceWorker.getRegistration().then((one) => one.unregister())")
    page.goto("/")
    until(page, "caches.has('files-older').then((kept) => !kept)")


def waits(page: Page) -> None:
    """Let the forms of the page of today wait, as the form of Write down does."""
    page.evaluate(WAIT)


def shade(page: Page, held: BrowserContext) -> None:
    """Answer a line without a network."""
    waits(page)
    held.set_offline(True)
    page.locator("li.row", has_text="Put up shade: Maple 4").get_by_role("button", name="Shaded").tap()
    page.get_by_text("1 entry waits on this phone.").wait_for()


def test_an_entry_made_without_a_network_is_sent_once(
    page: Page, held: BrowserContext, garden_file: Path
) -> None:
    before = entries(garden_file)
    shade(page, held)
    assert "Put up shade: Maple 4" in page.locator("#waiting").inner_text()
    page.goto("/")  # the kept page: what waits survives a reload
    page.get_by_text("1 entry waits on this phone.").wait_for()
    assert entries(garden_file) == before
    held.set_offline(False)
    page.locator("#waiting").wait_for(state="detached")
    assert len(entries(garden_file)) == len(before) + 1
    page.goto("/")
    assert page.locator("#waiting").count() == 0
    assert len(entries(garden_file)) == len(before) + 1


def test_an_entry_whose_answer_was_lost_is_no_second_one(
    page: Page, held: BrowserContext, garden_file: Path
) -> None:
    """It reached the server, but the phone never heard so: it is sent again under the same id."""
    before = entries(garden_file)
    waits(page)
    sent: list[str] = []

    def lose(route: Route) -> None:
        sent.append(route.request.post_data or "")
        route.fetch()
        route.abort()

    page.route("**/answers", lose, times=1)
    page.locator("li.row", has_text="Put up shade: Maple 4").get_by_role("button", name="Shaded").tap()
    page.get_by_text("1 entry waits on this phone.").wait_for()
    assert len(entries(garden_file)) == len(before) + 1
    page.get_by_role("button", name="Send now").tap()
    page.locator("#waiting").wait_for(state="detached")
    assert len(sent) == 1
    assert len(entries(garden_file)) == len(before) + 1


def test_two_entries_of_one_kept_form_are_two(page: Page, held: BrowserContext, garden_file: Path) -> None:
    """The form of Write down as it was kept has the same id for both; the phone gives each its own."""
    before = entries(garden_file)
    page.goto("/write")
    page.locator("a[href^='/write?tree=']").first.click()
    page.locator("form[action='/write/measured']").wait_for(state="attached")
    path = page.url
    page.wait_for_timeout(500)
    held.set_offline(True)
    page.goto(path)
    for size in ("31", "32"):
        form = page.locator("form[action='/write/measured']")
        form.evaluate("(one) => { one.closest('details').open = true; }")
        form.locator("select[name=measure]").first.select_option(index=1)
        form.locator("input[inputmode=decimal]").first.fill(size)
        form.locator("input[type=date]").fill("2015-06-25")  # the service's today; the browser's is another
        form.get_by_role("button", name="Measured").click()
        page.get_by_text("wait on this phone" if size == "32" else "waits on this phone").wait_for()
    held.set_offline(False)
    page.locator("#waiting").wait_for(state="detached")
    assert len(entries(garden_file)) == len(before) + 2


def test_what_the_server_refuses_stays_with_its_sentence(
    page: Page, held: BrowserContext, garden_file: Path
) -> None:
    """Meanwhile the work was answered from elsewhere."""
    shade(page, held)
    entry = page.evaluate("Waiting.all()")[0]
    fields = [
        [
            name,
            "00000000-0000-4000-8000-000000000001:00000000-0000-4000-8000-000000000002"
            if name == "item"
            else value,
        ]
        for name, value in entry["fields"]
    ]
    page.evaluate("(entry) => Waiting.put(entry)", {**entry, "fields": fields})
    before = entries(garden_file)
    held.set_offline(False)
    page.locator("#waiting .urgent").first.wait_for()
    assert "right would be the page as it is now" in page.locator("#waiting").inner_text()
    page.goto("/")
    page.locator("#waiting .urgent").first.wait_for()
    page.get_by_role("button", name="Let go").tap()
    page.locator("#waiting").wait_for(state="detached")
    assert entries(garden_file) == before


def test_without_a_key_that_may_write_an_entry_waits_on(
    page: Page, held: BrowserContext, garden_file: Path
) -> None:
    before = entries(garden_file)
    shade(page, held)
    page.route("**/answers", lambda route: route.fulfill(status=403, body="no"), times=1)
    held.set_offline(False)
    page.get_by_text("Not sent yet: the key of this phone may not write.").wait_for()
    assert page.evaluate("Waiting.all().then((all) => all.map((one) => one.answer))") == [""]
    page.get_by_role("button", name="Send now").tap()
    page.locator("#waiting").wait_for(state="detached")
    assert len(entries(garden_file)) == len(before) + 1


def test_what_looks_odd_is_asked_and_sent_when_it_is_so(page: Page, held: BrowserContext) -> None:
    """The server's question, as the pages ask it."""
    shade(page, held)
    asked = (
        '<div class="told"><p>Is it so?</p><form><input type="hidden" name="yes" value="yes"></form></div>'
    )
    sent: list[str] = []

    def answer(route: Route) -> None:
        sent.append(route.request.post_data or "")
        first = len(sent) == 1
        route.fulfill(status=422 if first else 200, body=asked if first else "")

    page.route("**/answers", answer)
    held.set_offline(False)
    page.get_by_role("button", name="It is so: write it down").tap()
    page.locator("#waiting").wait_for(state="detached")
    assert ["yes=yes" in each for each in sent] == [False, True]


def test_what_waits_outlasts_the_browser_and_is_sent_by_the_worker_alone(
    browser: Browser, served: Served, garden_file: Path, tmp_path: Path
) -> None:
    """The second browser shows no page of the garden: its worker is woken as Background Sync wakes it."""
    before = entries(garden_file)

    def opened() -> BrowserContext:
        return browser.browser_type.launch_persistent_context(
            str(tmp_path / "profile"), executable_path=str(CHROMIUM), args=list(QUIET), base_url=served.url,
            viewport=PIXELS, has_touch=True, is_mobile=True,
        )  # fmt: skip

    with opened() as held:
        page = held.new_page()
        page.goto("/")
        until(page, CONTROLLED)
        shade(page, held)
    assert entries(garden_file) == before
    with opened() as held:
        page = held.new_page()
        woken(page, served, "dispatchSyncEvent", {"tag": "waiting", "lastChance": False})
        for _ in range(200):
            if len(entries(garden_file)) > len(before):
                break
            page.wait_for_timeout(100)
        assert len(entries(garden_file)) == len(before) + 1
        page.goto("/")
        until(page, "Waiting.all().then((all) => all.length === 0)")
    assert len(entries(garden_file)) == len(before) + 1


def test_over_plain_http_nothing_is_kept_and_what_was_entered_stays(
    browser: Browser, served: Served, garden_file: Path
) -> None:
    """0.0.0.0 leads to this machine, and is none of the addresses that browsers take for it (Secure Contexts, W3C)."""
    served.site.hosts = (*served.site.hosts, "0.0.0.0")  # noqa: S104 - nothing listens there
    before = entries(garden_file)
    base = served.url.replace("127.0.0.1", "0.0.0.0")  # noqa: S104 - as above
    context = browser.new_context(viewport=PIXELS, base_url=base)
    page = context.new_page()
    page.goto("/phone")
    assert not page.evaluate("isSecureContext")
    assert page.get_by_text("over HTTPS only; this page came over plain HTTP.").is_visible()
    assert page.get_by_role("button", name="Warn me on this phone").count() == 0
    page.add_init_script(f"document.addEventListener('DOMContentLoaded', () => {{ {WAIT} }})")
    page.goto("/")
    assert page.get_by_text("Without a network nothing is kept here").first.is_visible()
    context.set_offline(True)
    row = page.locator("li.row", has_text="Put up shade: Maple 4")
    row.get_by_role("button", name="Shaded").click()
    page.get_by_text("browsers keep entries over HTTPS only").wait_for()
    assert row.get_by_role("button", name="Shaded").is_visible()
    assert page.locator("#waiting").count() == 0
    assert entries(garden_file) == before
    context.close()


def test_the_form_of_a_kept_page_has_the_day_of_today(page: Page, held: BrowserContext) -> None:
    """One that was read days ago; what the grower has set stays."""
    form = '<form data-waits><input type="date" name="on" value="2015-06-25"></form></main>'
    page.evaluate(
        """(form) => caches.open("pages").then(async (pages) => {
          const [key] = await pages.keys(), found = await pages.match(key);
          const text = (await found.text()).replace("</main>", form);
          await pages.put(key, new Response(text, { headers: found.headers }));
        })""",
        form,
    )
    held.set_offline(True)
    page.goto("/")
    today = page.evaluate("new Date().toLocaleDateString('sv')")
    until(page, "(day) => document.querySelector('input[type=date]').value === day", today)


def woken(page: Page, served: Served, how: str, told: dict[str, Any]) -> None:
    """Wake the worker as Chromium itself does (DevTools protocol)."""
    line = page.context.new_cdp_session(page)
    found: list[str] = []

    def note(event: dict[str, Any]) -> None:
        found.extend(each["registrationId"] for each in event["registrations"] if not each["isDeleted"])

    line.on("ServiceWorker.workerRegistrationUpdated", note)
    line.send("ServiceWorker.enable")
    for _ in range(200):
        if found:
            break
        page.wait_for_timeout(50)
    line.send(f"ServiceWorker.{how}", {"origin": served.url, "registrationId": found[-1], **told})
    line.detach()


def deliver(page: Page, served: Served, told: dict[str, Any]) -> None:
    """Hand a message to the worker."""
    woken(page, served, "deliverPushMessage", {"data": json.dumps(told)})


SHOWN = "navigator.serviceWorker.ready.then((one) => one.getNotifications()).then((all) => all.map((one) => [one.title, one.body, one.tag, one.data.url]))"


def test_a_warning_is_shown_and_a_later_one_takes_its_place(page: Page, served: Served) -> None:
    told = {
        "title": "Heat tomorrow",
        "body": "Maple 1 into the shade.",
        "url": "/",
        "tag": "heat",
        "revision": 2,
        "withdrawn": False,
    }
    deliver(page, served, told)
    until(page, f"{SHOWN}.then((all) => all.length === 1)")
    assert page.evaluate(SHOWN) == [["Heat tomorrow", "Maple 1 into the shade.", "heat", "/"]]
    deliver(page, served, {**told, "title": "Frost tonight", "tag": "frost", "revision": 1})
    until(page, f"{SHOWN}.then((all) => all.length === 2)")
    deliver(
        page, served, {**told, "title": "Over: heat tomorrow", "body": "", "revision": 3, "withdrawn": True}
    )
    until(page, f"{SHOWN}.then((all) => all.some((one) => one[0] === 'Over: heat tomorrow'))")
    deliver(page, served, told)  # one that was held up on its way
    page.wait_for_timeout(500)
    assert sorted(one[0] for one in page.evaluate(SHOWN)) == ["Frost tonight", "Over: heat tomorrow"]


def test_a_phone_subscribes_on_its_page(page: Page, served: Served, garden_file: Path) -> None:
    """Chromium without a window reaches no push service, so its answer is put in place; the rest is as it is."""
    made = json.dumps(subscription(Phone()))
    page.context.add_init_script(
        f"PushManager.prototype.subscribe = async (options) => ({{toJSON: () => (window.asked = options, {made})}});"
    )
    page.goto("/phone")
    page.get_by_label("What this phone is called").fill("Ines' phone")
    page.get_by_role("button", name="Warn me on this phone").tap()
    page.get_by_text("Ines' phone by push.leafclock.example").wait_for()
    (channel,) = channels(garden_file)
    assert (channel.address, channel.person) == (ENDPOINT, "Ines' phone")
