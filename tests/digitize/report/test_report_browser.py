"""The check print by the rules of axe-core (WCAG 2.1 A and AA), in a real browser."""

from pathlib import Path

import pytest
from axe_core_python.selenium import Axe
from selenium import webdriver
from selenium.webdriver.common.by import By
from test_report_write import doubtful_gear, results

WCAG = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}


@pytest.fixture
def page(tmp_path: Path) -> Path:
    results(doubtful_gear(), tmp_path)
    return tmp_path / "check-print.html"


@pytest.mark.parametrize("width", [1400, 420])
def test_the_rules_of_accessibility_hold(page: Path, browser: webdriver.Chrome, width: int) -> None:
    browser.set_window_size(width, 900)
    browser.get(page.as_uri())
    found = Axe().run(browser, options=WCAG)
    assert [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]] == []


def test_each_mark_leads_to_its_row_and_back(page: Path, browser: webdriver.Chrome) -> None:
    browser.get(page.as_uri())
    marks = browser.find_elements(By.CSS_SELECTOR, "a.mark")
    assert marks
    for mark in marks:
        row = browser.find_element(By.ID, str(mark.get_dom_attribute("href")).removeprefix("#"))
        back = row.find_element(By.CSS_SELECTOR, "a").get_attribute("href")
        assert str(back).endswith(f"#{mark.get_attribute('id')}")
