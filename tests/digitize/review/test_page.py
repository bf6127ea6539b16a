"""The page in a real browser: confirm by keyboard alone, write, put in, take back, kill and go on, write the files.

Accessibility by the rules of axe-core (WCAG 2.1 A and AA), run in the browser.
"""

import csv
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from tests.digitize.review.served import WAIT_S, Served


@pytest.fixture
def page(home: Path, browser: webdriver.Chrome) -> Iterator[Served]:
    browser.set_window_size(1500, 1000)
    served = Served(home / "result", browser)
    yield served
    served.kill()


def rows(folder: Path) -> list[dict[str, str]]:
    with (folder / "dimensions.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def seen(browser: webdriver.Chrome) -> Any:
    """Ways in which a pixel of the canvas differs from its empty ground: more than a few show a picture."""
    return browser.execute_script(
        """
        const canvas = document.getElementById("canvas"), shades = new Set();
        const data = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
        for (let i = 0; i < data.length; i += 4 * 997) shades.add(data[i]);
        return shades.size;
        """
    )


def test_it_opens_with_the_picture_and_the_worst_figure_first(page: Served) -> None:
    WebDriverWait(page.browser, WAIT_S).until(lambda browser: seen(browser) > 5)
    assert page.text("state") == "disputed"
    assert page.browser.find_element(By.ID, "closeup").get_property("naturalWidth") > 50
    assert page.severe() == []


def counts(page: Served) -> tuple[int, int, int]:
    """Figures, those to look at, those confirmed."""
    figures, doubtful, confirmed = re.findall(r"\d+", page.text("progress"))
    return int(figures), int(doubtful), int(confirmed)


def test_a_whole_sheet_is_confirmed_by_keyboard_alone(page: Served) -> None:
    page.press("t", "2 7/16", Keys.ENTER)
    page.until("progress", "1 confirmed")
    page.press(Keys.ESCAPE)
    while (before := counts(page))[2] < before[0]:
        readable = page.browser.find_element(By.ID, "accept").is_enabled()
        page.press(Keys.ENTER if readable else "x")
        WebDriverWait(page.browser, WAIT_S).until(lambda _, before=before: counts(page) != before)
    assert counts(page)[1] == 0
    page.press("w")
    page.until("pointing", "Written into")
    written = rows(page.folder)
    assert {row["confirmed_by"] for row in written} == {"A. Reader"}
    assert "2 7/16" in [row["text"] for row in written]


def test_taking_back_and_saying_again(page: Served) -> None:
    first = page.text("reads")
    figures = counts(page)[0]
    page.press("x")
    page.until("progress", f"{figures - 1} figures")
    page.press("u")
    page.until("progress", f"{figures} figures")
    assert first in page.text("rows")
    page.press("r")
    page.until("progress", f"{figures - 1} figures")


def test_what_can_not_be_read_is_refused_in_words_and_stays_to_be_mended(page: Served) -> None:
    page.press("t", "a brass knob", Keys.ENTER)
    assert "is no size" in page.until("refused", "brass")
    assert page.browser.find_element(By.ID, "typed").get_property("value") == "a brass knob"


def test_a_dimension_is_put_in_by_two_clicks(page: Served) -> None:
    figures = counts(page)[0]
    page.press("a")
    canvas = page.browser.find_element(By.ID, "canvas")
    for x in (-150, 150):
        ActionChains(page.browser).move_to_element_with_offset(canvas, x, 40).click().perform()
    page.until("pointing", "Write what the print says")
    page.press("1 1/2", Keys.ENTER)
    page.until("progress", f"{figures + 1} figures.*1 confirmed")
    assert "put in by A. Reader" in page.text("changed")


def test_two_ends_can_be_set_without_a_mouse(page: Served) -> None:
    page.press("l", Keys.SPACE, *([Keys.ARROW_RIGHT] * 4), Keys.SPACE)
    assert "such as 7.5in" in page.until("pointing", "length you measured")


def test_nothing_is_lost_when_the_program_is_killed_and_a_reload_goes_on(page: Served) -> None:
    page.press("t", "2 7/16", Keys.ENTER)
    page.until("progress", "1 confirmed")
    page.kill()
    page.press("t", "5 1/8", Keys.ENTER)
    assert "does not answer" in page.until("refused", "does not answer")
    page.start()
    page.until("progress", "1 confirmed")
    assert "2 7/16" in page.text("rows")


def test_what_is_half_typed_is_there_after_a_reload(page: Served) -> None:
    page.press("n", "t", "5 1/")
    asked = page.text("where")
    page.browser.refresh()
    page.ready()
    assert page.text("where") == asked
    assert page.browser.find_element(By.ID, "typed").get_property("value") == "5 1/"


def test_a_known_length_is_a_witness(page: Served) -> None:
    page.press("l", Keys.SPACE, *([Keys.ARROW_RIGHT] * 4), Keys.SPACE)
    page.until("pointing", "length you measured")
    page.press("a yard or so", Keys.ENTER)
    assert "is no length" in page.until("refused", "length")
    field = page.browser.find_element(By.ID, "typed")
    field.clear()
    field.send_keys("4in", Keys.ENTER)
    WebDriverWait(page.browser, WAIT_S).until(lambda _: page.text("pointing") == "")
    assert not page.text("refused")
    assert page.browser.find_element(By.ID, "undo").is_enabled()


def test_a_second_tab_sees_the_change(page: Served) -> None:
    first = page.browser.current_window_handle
    page.browser.switch_to.new_window("tab")
    page.browser.get(_address(page, first))
    page.ready()
    second = page.browser.current_window_handle
    page.browser.switch_to.window(first)
    page.press("t", "2 7/16", Keys.ENTER)
    page.until("progress", "1 confirmed")
    page.browser.switch_to.window(second)
    page.until("progress", "1 confirmed")
    assert "another window" in page.text("changed")
    page.browser.close()
    page.browser.switch_to.window(first)


def _address(page: Served, window: str) -> str:
    here = page.browser.current_window_handle
    page.browser.switch_to.window(window)
    address = page.browser.current_url
    page.browser.switch_to.window(here)
    return address


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [1500, 420])
def test_the_rules_of_accessibility_hold_in_light_and_dark_wide_and_narrow(
    page: Served, width: int, dark: bool
) -> None:
    assert page.broken_rules(width, dark) == []


def test_the_letter_keys_can_be_turned_off(page: Served) -> None:
    before = counts(page)
    page.browser.find_element(By.ID, "keys").click()
    page.press("x")
    time.sleep(0.5)
    assert counts(page) == before
    page.browser.find_element(By.ID, "keys").click()
