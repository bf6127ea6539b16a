"""A drawer in a real browser and by requests: every sheet with its picture, found, opened, reviewed, and back.

Accessibility by the rules of axe-core (WCAG 2.1 A and AA), run in the browser.
"""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait
from starlette.testclient import TestClient
from typer.testing import CliRunner

from digitize.archive.catalogue import NAME
from digitize.cli import app as commands
from digitize.review import drawer as drawers
from digitize.review.alone import LOCK, alone
from digitize.review.app import Gate
from digitize.review.drawer import AT_ONCE, Drawer, is_drawer, key_of
from digitize.review.drawer_app import drawer_app
from tests.digitize.archive.folders import gear, result, value
from tests.digitize.review.served import WAIT_S, Served

HOST = "127.0.0.1:8899"
MADE = 75


@pytest.fixture(scope="session")
def filled(digitized: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A drawer of one digitized sheet and many that are made, more than are shown at once."""
    home = tmp_path_factory.mktemp("cupboard") / "drawer-4"
    shutil.copytree(digitized, home / "shafts")
    for number in range(MADE):
        rows = [
            value("A1.1", "linear", f"{number} 1/2", number + 0.5),
            value("A1.2", "diameter", "5.500", 5.5, status="disputed"),
        ]
        block = {"title": f"BUSH <b>{number}</b>", "drawing_number": f"HM-{number}"}
        result(home / f"bush-{number:03d}", block, rows, gear(42, 3.175) if number == 7 else None)
    return home


@pytest.fixture
def home(filled: Path, tmp_path: Path) -> Path:
    """A copy that a test may spoil."""
    return Path(shutil.copytree(filled, tmp_path / "drawer-4"))


@pytest.fixture
def drawer(home: Path) -> Iterator[Drawer]:
    opened = Drawer(home)
    yield opened
    opened.close()


@pytest.fixture
def inside(drawer: Drawer) -> TestClient:
    gate = Gate(frozenset({HOST}))
    client = TestClient(drawer_app(drawer, gate), base_url=f"http://{HOST}")
    assert client.get("/", params={"token": gate.token}).status_code == 200
    return client


SHEET = key_of("shafts/result")


class TestRequests:
    def test_without_the_token_nothing_is_shown(self, drawer: Drawer) -> None:
        outside = TestClient(drawer_app(drawer, Gate(frozenset({HOST}))), base_url=f"http://{HOST}")
        for path in ("/", "/drawer", "/sheets", f"/small/{SHEET}.jpg", f"/sheet/{SHEET}/", f"/sheet/{SHEET}/content"):
            assert outside.get(path).status_code == 401
        assert outside.post(f"/sheet/{SHEET}/undo").status_code == 401

    def test_it_counts_sheets_and_states_the_worst_first(self, inside: TestClient) -> None:
        content = inside.get("/drawer").json()
        assert (content["name"], content["sheets"]) == ("drawer-4", MADE + 1)
        assert next(iter(content["states"])) == "disputed"
        assert content["states"]["disputed"] >= MADE

    def test_all_sheets_come_by_and_by_each_once(self, inside: TestClient) -> None:
        first = inside.get("/sheets").json()
        rest = inside.get("/sheets", params={"skip": str(AT_ONCE)}).json()
        folders = [sheet["folder"] for sheet in (*first["sheets"], *rest["sheets"])]
        assert (first["more"], rest["more"]) == (True, False)
        assert folders == sorted({*folders})
        assert len(folders) == MADE + 1

    @pytest.mark.parametrize(
        ("asked", "folders"),
        [
            ({"words": "bush 12 1/2"}, ["bush-012"]),
            ({"number": "HM-31"}, ["bush-031"]),
            ({"teeth": "42", "pitch": "8"}, ["bush-007"]),
            ({"length": "3.51in", "within": "0.01in", "state": "agreed"}, ["bush-003"]),
            ({"words": "no such word"}, []),
        ],
    )  # fmt: skip
    def test_it_finds_what_the_command_finds(
        self, inside: TestClient, home: Path, asked: dict[str, str], folders: list[str]
    ) -> None:
        assert [sheet["folder"] for sheet in inside.get("/sheets", params=asked).json()["sheets"]] == folders
        words = [part for name, text in asked.items() if name != "words" for part in (f"--{name}", text)]
        command = ["find", asked.get("words", ""), "--in", str(home), *words, "--json"]
        assert all(f'"{folder}"' in CliRunner().invoke(commands, command).stdout for folder in folders)

    @pytest.mark.parametrize(
        "asked", [{"diameter": "5.5"}, {"within": "1in"}, {"teeth": "forty"}, {"skip": "-1"}, {"pitch": "0"}]
    )
    def test_what_is_no_size_is_told_in_one_sentence(self, inside: TestClient, asked: dict[str, str]) -> None:
        answer = inside.get("/sheets", params=asked)
        assert answer.status_code == 422
        assert len(answer.json()["refused"].splitlines()) == 1

    def test_small_pictures(self, inside: TestClient) -> None:
        assert inside.get(f"/small/{SHEET}.jpg").content.startswith(b"\xff\xd8")
        assert inside.get(f"/small/{key_of('bush-001')}.jpg").status_code == 404
        assert inside.get("/small/0123.jpg").status_code == 404

    def test_a_sheet_that_can_not_be_opened_says_why(self, inside: TestClient, home: Path) -> None:
        for key, why in (("0123", "no such sheet"), (key_of("bush-001"), "found.json is damaged")):
            answer = inside.get(f"/sheet/{key}/")
            assert answer.status_code == 404
            assert why in answer.text
        with alone(home / "shafts" / "result"):
            assert "under review already" in inside.get(f"/sheet/{SHEET}/").text

    def test_a_bag_is_shown_and_not_opened(self, inside: TestClient, home: Path) -> None:
        (home / "shafts" / "bagit.txt").touch()
        (sheet,) = (each for each in inside.get("/sheets", params={"skip": "60"}).json()["sheets"] if each["archived"])
        assert sheet["key"] == SHEET
        assert "lies in an archive" in inside.get(f"/sheet/{SHEET}/").text
        assert not (home / "shafts" / "result" / "review.sqlite").exists()

    def test_a_sheet_that_nobody_looks_at_is_closed(
        self, drawer: Drawer, home: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        reviewed, lock = drawer.sheet(SHEET), home / "shafts" / "result" / LOCK
        monkeypatch.setattr(drawers, "IDLE_S", -1.0)
        reviewed.listeners = 1
        with pytest.raises(ValueError, match="found"):
            drawer.sheet(key_of("bush-001"))
        assert lock.exists()
        reviewed.listeners = 0
        with pytest.raises(ValueError, match="found"):
            drawer.sheet(key_of("bush-001"))
        assert not lock.exists()
        assert drawer.sheet(SHEET) is not reviewed

    def test_prints_that_were_moved_are_found_by_name(self, home: Path, digitized: Path, tmp_path: Path) -> None:
        (tmp_path / "moved" / "deep").mkdir(parents=True)
        shutil.copy(digitized / "print.png", tmp_path / "moved" / "deep")
        drawer = Drawer(home, tmp_path / "moved")
        assert drawer.sheet(SHEET).source == tmp_path / "moved" / "deep" / "print.png"
        drawer.close()

    def test_only_folders_of_sheets_are_drawers(self, home: Path, tmp_path: Path) -> None:
        (tmp_path / "empty").mkdir()
        answers = [is_drawer(each) for each in (home, home / "shafts", home / "shafts" / "result", tmp_path / "empty")]
        assert answers == [True, True, False, False]


@pytest.fixture(scope="module")
def served(filled: Path, tmp_path_factory: pytest.TempPathFactory, browser: webdriver.Chrome) -> Iterator[Served]:
    """One program for all tests of this module: what they do to the drawer does not upset each other."""
    running = Served(Path(shutil.copytree(filled, tmp_path_factory.mktemp("served") / "drawer-4")), browser)
    yield running
    running.kill()


@pytest.fixture
def page(served: Served) -> Served:
    served.browser.set_window_size(1500, 1000)
    served.browser.get(f"{re.match('http://[^/]*', served.browser.current_url)[0]}/")
    served.ready()
    return served


def cards(page: Served) -> list[str]:
    return [each.text for each in page.browser.find_elements(By.CSS_SELECTOR, "#sheets h3")]


def test_the_drawer_opens_with_pictures_and_counts(page: Served) -> None:
    assert page.text("title") == "drawer-4"
    assert f"{MADE + 1} sheets" in page.text("total")
    assert "disputed" in page.text("total")
    assert page.text("heading") == f"The first {AT_ONCE} sheets"
    assert [message for message in page.severe() if "/small/" not in message] == []  # made sheets have no picture


def test_found_opened_confirmed_and_back_by_keyboard_alone(page: Served) -> None:
    page.browser.find_element(By.ID, "words").send_keys("hm-204 1/2", Keys.ENTER)
    page.until("heading", "No such sheet")
    page.browser.find_element(By.ID, "words").clear()
    page.browser.find_element(By.ID, "words").send_keys("print", Keys.ENTER)
    page.until("heading", "^1 sheet$")
    picture = page.browser.find_element(By.CSS_SELECTOR, "#sheets img")
    WebDriverWait(page.browser, WAIT_S).until(lambda _: int(picture.get_property("naturalWidth") or 0) > 100)
    page.press(*[Keys.TAB] * 5)
    focused = page.browser.switch_to.active_element
    assert focused.tag_name == "a", focused.get_attribute("outerHTML")
    page.press(Keys.ENTER)
    WebDriverWait(page.browser, WAIT_S).until(lambda browser: "/sheet/" in browser.current_url)
    page.ready()
    WebDriverWait(page.browser, WAIT_S).until(lambda _: page.text("progress"))
    page.press("t", "2 7/16", Keys.ENTER)
    page.until("progress", "1 confirmed")
    page.browser.find_element(By.ID, "drawer").send_keys(Keys.ENTER)
    WebDriverWait(page.browser, WAIT_S).until(lambda browser: "/sheet/" not in browser.current_url)
    page.ready()
    page.until("title", "drawer-4")
    assert (page.folder / "shafts" / "result" / "review.sqlite").exists()


def test_more_are_shown_and_a_question_survives_a_reload(page: Served) -> None:
    page.browser.find_element(By.ID, "next").send_keys(Keys.ENTER)
    page.until("heading", f"^{MADE + 1} sheets")
    assert len(cards(page)) == MADE + 1
    page.browser.find_element(By.TAG_NAME, "summary").send_keys(Keys.ENTER)
    page.browser.find_element(By.NAME, "teeth").send_keys("42", Keys.ENTER)
    page.until("heading", "^1 sheet$")
    page.browser.refresh()
    page.ready()
    assert cards(page) == ["bush-007"]
    assert "gear of 42 teeth" in page.text("sheets")
    assert page.browser.find_element(By.NAME, "teeth").is_displayed()


def test_what_is_no_size_is_refused_in_words(page: Served) -> None:
    page.browser.find_element(By.TAG_NAME, "summary").send_keys(Keys.ENTER)
    page.browser.find_element(By.NAME, "diameter").send_keys("5.5", Keys.ENTER)
    assert page.until("refused", "unit")
    assert "<b>" in page.text("sheets")  # a title is text, never markup


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [1500, 420])
def test_the_rules_of_accessibility_hold_in_light_and_dark_wide_and_narrow(
    page: Served, width: int, dark: bool
) -> None:
    page.browser.set_window_size(width, 900)
    page.browser.find_element(By.TAG_NAME, "summary").click()
    assert page.broken_rules(width, dark) == []


def test_the_list_follows_what_was_written_since(page: Served) -> None:
    result(page.folder / "aaa-new", {"title": "NEW PLATE"})
    page.browser.refresh()
    page.ready()
    assert cards(page)[0] == "aaa-new"
    assert (page.folder / NAME).exists()
