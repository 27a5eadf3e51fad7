"""Papers in the page, the choice, and the customer's link: it opens one proposal and nothing else."""

from __future__ import annotations

import html
import re
import time
from datetime import date, timedelta
from urllib.parse import quote

import pytest

from matcher import Shop
from matcher.store.records.page_keeping import MOST_A_DAY
from tests.web.conftest import CHOSEN, Answered, Page, Visitor

JOB = "skua-work"


def looked_at(visitor: Visitor, path: str) -> Answered:
    """A page whose ranking is there."""
    for _ in range(60):
        answer = visitor.get(path)
        if "the page refreshes by itself" not in answer.text:
            return answer
        time.sleep(1)
    raise AssertionError("no answer in a minute")


@pytest.fixture(scope="module")
def papers(page: Page) -> Answered:
    """The packages of a job that has some."""
    return looked_at(page.visitor(), f"/options?job={JOB}")


@pytest.mark.parametrize(("form", "begins"), [("html", "<!doctype html>"), ("pdf", "%PDF-")])
def test_a_paper_is_shown_and_runs_nothing(page: Page, papers: Answered, form: str, begins: str) -> None:
    answer = page.visitor().get(f"/paper?job={JOB}&kind=proposal&format={form}&package=1")
    assert answer.status == 200
    assert answer.text.startswith(begins)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy  # so none runs


@pytest.mark.parametrize("query", ["kind=letter", "kind=proposal&format=exe"])
def test_there_is_no_other_paper(page: Page, papers: Answered, query: str) -> None:
    assert page.visitor().get(f"/paper?job={JOB}&{query}").status == 400


@pytest.mark.parametrize(
    ("path", "status", "says"),
    [
        (f"/paper?job={JOB}&kind=proposal&package=-1", 400, "there is no package &#39;-1&#39;"),
        (f"/paper?job={JOB}&kind=proposal&package=0", 400, "there is no package &#39;0&#39;"),
        (f"/paper?job={JOB}&kind=proposal&package=1.0", 400, "a package is a whole number, 1 or more"),
        (f"/paper?job={JOB}&kind=proposal&package=99", 404, "no package &#39;99&#39;"),
        (f"/options?job={JOB}&wish.bass=6", 400, "a weight is a whole number, 0 to 5"),
        (f"/options?job={JOB}&wish.bass=-1", 400, "a weight is a whole number, 0 to 5"),
        (f"/setup?job={JOB}&saved=yes", 400, "there is no record &#39;yes&#39;"),
        ("/catalog/problems?from=-50", 400, "there is no row &#39;-50&#39;"),
        ("/catalog/problems?from=²", 400, "there is no row"),
        ("/catalog/problem?problem=-1", 404, "no open problem &#39;-1&#39;"),
    ],
)
def test_no_other_number_stands_in_for_one_that_is_none(
    page: Page, papers: Answered, path: str, status: int, says: str
) -> None:
    answer = page.visitor().get(quote(path, safe="/?=&"))
    assert (answer.status, says in answer.text) == (status, True), answer.text[-400:]


def test_a_package_is_chosen_where_it_is_still_the_one_that_was_seen(page: Page, papers: Answered) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    form = {"job": JOB, "package": Shop(page.store).options(JOB).packages[1].id, "stamp": papers.value_of("stamp")}
    visitor.send("/name", name="Runa at the counter")
    assert visitor.send("/choose", **form | {"stamp": "0" * 16}).status == 400
    assert shop.choices.latest(JOB) is None
    assert visitor.send("/choose", **form).status == 303
    choice = shop.choices.latest(JOB)
    assert choice is not None
    assert (choice.rank, choice.by) == (2, "Runa at the counter")
    assert "package chosen" in visitor.get("/jobs").text


def test_a_package_seen_without_a_limit_is_chosen_on_these_terms(page: Page) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    seen = looked_at(visitor, f"/options?job={JOB}&lift=budget")
    best = shop.options(JOB, terms={"budget": "none"}, remember=False).packages[0]
    form = {"job": JOB, "package": best.id, "stamp": seen.value_of("stamp"), "lift": "budget"}
    assert visitor.send("/choose", **form).status == 303
    choice = shop.choices.latest(JOB)
    assert choice is not None
    assert (choice.package.id, choice.terms) == (best.id, {"budget": "none"})
    assert shop.jobs.document(JOB).document["limits"]["budget"] is not None  # the job stays as it is


def test_a_choice_with_its_kit_still_stands(page: Page) -> None:
    choice, changes = Shop(page.store).choices.latest(CHOSEN), Shop(page.store).choices.changes(CHOSEN)
    assert choice is not None
    assert any(item.part_id for item in choice.package.kit)
    assert (changes.stands, changes.changes) == (True, [])


def test_a_limit_that_was_tried_without_is_taken_out_of_the_job_on_request(page: Page) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    before = shop.jobs.document(JOB)
    assert visitor.send("/options/keep", job=JOB, lift="budget", **{"wish.bass": 5}).status == 303
    kept = shop.jobs.document(JOB)
    assert (kept.document["limits"]["budget"], kept.document["wishes"]["bass"]) == (None, 5)
    shop.jobs.save(before.document, kept.mark)


def test_each_change_that_would_help_gives_the_package_at_its_price(page: Page) -> None:
    visitor, shop, job = page.visitor(), Shop(page.store), "skua-clash"
    before = shop.jobs.document(job)
    seen = visitor.get(f"/options?job={job}")
    while "Change the job so" not in seen.text:
        time.sleep(0.5)
        seen = visitor.get(f"/options?job={job}")
    helps = seen.text.partition("What would help")[2]
    prices = re.findall(r'typed">([\d,.]+)[^<]*</span><form', helps)
    stamp, found = re.findall(r'name="stamp" value="(\w+)"', helps)[0], []
    for number in range(1, len(prices) + 1):
        assert visitor.send("/options/relax", job=job, number=number, stamp=stamp).status == 303
        found.append(f"{shop.options(job, remember=False).packages[0].price.total:,.2f}")
        assert visitor.send("/options/relax", job=job, number=number, stamp=stamp).status == 400  # another job now
        shop.jobs.save(before.document, shop.jobs.document(job).mark)
    assert (found, len(found)) == (prices, 3)


def test_a_customer_accepts_a_package_of_the_offer_alone(page: Page) -> None:
    path, shop = made_link(page), Shop(page.store)
    customer = page.visitor()
    assert customer.post(path, {"letter": "Z", "name": "Odd"}).status == 200
    assert customer.post(path, {"letter": "A", "name": ""}).status == 200
    assert customer.post("/see/guessed", {"letter": "A", "name": "Odd"}).status == 404
    assert shop.page.notes(JOB) == []
    assert "Ada, you accepted A: " in customer.post(path, {"letter": "A", "name": "Ada"}).text
    assert [(one.by, one.text[:3]) for one in shop.page.notes(JOB)] == [("Ada", "A: ")]
    assert 'Ada accepts</b> <span dir="auto">A: ' in page.visitor().get(f"/choose?job={JOB}").text


def test_customer_asks_and_reads_the_shops_answer(page: Page) -> None:
    path, counter, customer = made_link(page), page.visitor(), page.visitor()
    assert "asks something" not in counter.get("/jobs").text
    assert customer.post(path, {"question": " Does the <b>spare</b>\r\nwheel stay? "}).status == 303
    for at in (path, f"/choose?job={JOB}"):
        assert "Does the &lt;b&gt;spare&lt;/b&gt; wheel stay?" in counter.get(at).text
    assert all("asks something" in counter.get(at).text for at in ("/jobs", f"/job?job={JOB}"))
    counter.send("/name", name="Runa at the counter")
    assert counter.send("/link/answer", job=JOB, answer="").status == 400
    assert counter.send("/link/answer", job=JOB, answer="It stays.").status == 303
    assert "asks something" not in counter.get("/jobs").text
    seen = customer.get(path).text
    assert ("It stays." in seen, "Runa" in seen) == (True, False)
    assert "It stays." in customer.get(made_link(page)).text  # a later offer has it, too


@pytest.mark.parametrize(
    ("question", "status"),
    [("a" * 1000, 303), ("a" * 1001, 400), (" \r\n ", 400), ("red \x1b[31m", 400), ("turned \u202e", 400)],
)
def test_question_is_taken_if_every_page_and_terminal_can_show_it(page: Page, question: str, status: int) -> None:
    path, shop = made_link(page), Shop(page.store)
    before = len(shop.page.notes(JOB))
    answer = page.visitor().post(path, {"question": question})
    assert (answer.status, len(shop.page.notes(JOB)) - before) == (status, status == 303)
    assert ("This was not sent" in answer.text) == (status == 400)


def test_too_many_questions_are_refused_for_a_day(page: Page) -> None:
    path, shop, customer = made_link(page), Shop(page.store), page.visitor()
    while (answer := customer.post(path, {"question": "And now?"})).status == 303:
        pass
    assert (answer.status, "Please call us" in answer.text, "And now?</textarea>" in answer.text) == (429, True, True)
    assert len(shop.page.notes(JOB)) <= MOST_A_DAY + 1  # the shop's answer does not count
    assert "you accepted" not in customer.post(path, {"letter": "A", "name": "Ada"}).text
    with shop.store.changing() as con:
        con.execute("update event set happened_at = happened_at - interval 25 hour where what = 'question'")
    assert customer.post(path, {"question": "And now?"}).status == 303


def test_guessed_link_takes_no_question(page: Page) -> None:
    assert page.visitor().post("/see/guessed", {"question": "Who is there?"}).status == 404


def made_link(page: Page, job: str = JOB) -> str:
    """A new link's path."""
    answer = page.visitor().send("/link", job=job, days=3)
    assert answer.status == 200, answer.text[:2000]
    found = re.search(r'href="http://[^/"]+(/see/[\w-]+)"', answer.text)
    assert found is not None
    return html.unescape(found[1])


def test_a_link_opens_the_proposal_for_a_stranger_until_it_is_taken_back(page: Page) -> None:
    path, shop = made_link(page), Shop(page.store)
    seen = page.visitor().get(path)
    assert seen.status == 200
    assert "set-cookie" not in seen.headers
    assert seen.headers["referrer-policy"] == "same-origin"  # the address is told to no other site
    assert "noindex" in seen.headers["x-robots-tag"]
    assert 'href="/' not in seen.text  # it leads nowhere into the shop
    assert "<script" not in seen.text
    link = shop.page.links(JOB)[0]
    assert path.split("/")[-1] not in str(link)  # what the shop lists does not open it
    assert page.visitor().send("/link/revoke", link=link.name).status == 303
    assert page.visitor().get(path).status == 404


def test_customers_page_of_a_job_that_keeps_its_radio_shows_no_dash(page: Page) -> None:
    """It could not be made: there is no drawing of the dash."""
    seen = page.visitor().get(made_link(page, "skua-kept")).text
    assert ("How it sounds" in seen, "How it looks" in seen) == (True, False)


def test_a_customer_reads_the_offer_in_the_shops_language(page: Page) -> None:
    shop = Shop(page.store)
    shop.set("language", "de")
    try:
        seen = page.visitor().get(made_link(page)).text
    finally:
        shop.set("language", "en")
    assert '<html lang="de">' in seen
    assert ("Ihre Fragen" in seen, "Your questions" in seen) == (True, False)
    assert f"{date.today() + timedelta(days=3):%d.%m.%Y}" in seen  # as in the lead, once "4. Dezember 2026"
    assert "MwSt.." not in seen


def test_a_link_shows_what_was_offered_then(page: Page) -> None:
    path = made_link(page)
    before = page.visitor().get(path).text
    page.visitor().send("/fit/reading", subject="opening:skua-p/door", field="depth_mm", value=200, part="", vehicle="")
    assert page.visitor().get(path).text == before


def test_an_expired_link_opens_nothing(page: Page) -> None:
    path, shop = made_link(page), Shop(page.store)
    with shop.store.changing() as con:
        con.execute("update page_link set expires_at = now() - interval 1 second")
    assert page.visitor().get(path).status == 404


@pytest.mark.parametrize("token", ["", "x", "..", "%2e%2e%2fjobs", "a" * 43, "%00", "'%20or%201=1%20--"])
def test_a_guess_opens_nothing(page: Page, token: str) -> None:
    assert page.visitor().get(f"/see/{token}").status == 404


def test_open_points_require_a_reason_to_order_and_sign(page: Page) -> None:
    visitor, shop = page.visitor(), Shop(page.store)
    shop.choices.choose(JOB, 1)
    assert shop.orders.open_points(JOB) != []
    for path in ("/order", "/sign"):
        refused = visitor.send(path, job=JOB, by="Bo")
        assert (refused.status, "tick the box and give a reason" in refused.text) == (400, True)
    ordered = visitor.send("/order", job=JOB, anyway="yes", reason="measured tomorrow")
    assert (ordered.status, ordered.headers["content-type"]) == (200, "application/zip")
    assert shop.jobs.state(JOB).ordered
    assert visitor.send("/sign", job=JOB, by="Bo", anyway="yes", reason="the owner waits").status == 303
    assert [one.note for one in shop.choices.went_on(JOB)] == ["measured tomorrow", "the owner waits"]
    assert "signed off" in visitor.get(f"/setup?job={JOB}").text


def test_every_part_to_order_is_listed_with_its_supplier(page: Page) -> None:
    shop, shown = Shop(page.store), page.visitor().get(f"/order?job={CHOSEN}").text
    choice = shop.choices.latest(CHOSEN)
    assert choice is not None and choice.parts
    assert [row[0] for row in shop.orders.order_list(choice).cells if f">{row[0]}</th>" not in shown] == []
    assert [part.part_id for part in choice.parts if part.part_id not in shown] == []
