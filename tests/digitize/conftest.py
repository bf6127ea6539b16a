"""A browser for the pages that people look at."""

import shutil
from collections.abc import Iterator

import pytest
from selenium import webdriver


@pytest.fixture(scope="session")
def browser() -> Iterator[webdriver.Chrome]:
    """Debian's Chromium, without a window."""
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for option in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--window-size=1500,1000"):
        options.add_argument(option)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options, webdriver.ChromeService(shutil.which("chromedriver") or ""))
    yield driver
    driver.quit()
