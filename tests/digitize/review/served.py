"""`digitize review` as a program of its own, and a browser before it."""

import re
import signal
import subprocess
import sys
from pathlib import Path

from axe_core_python.selenium import Axe
from selenium import webdriver
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

WAIT_S = 60
"""A slow machine at work on other things is given this long."""
WCAG = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}


class Served:
    """`digitize review` as a program of its own, and a browser before it."""

    def __init__(self, folder: Path, browser: webdriver.Chrome) -> None:
        self.folder, self.browser = folder, browser
        self.start()

    def start(self) -> None:
        command = [sys.executable, "-m", "digitize", "review", str(self.folder), "--no-browser", "--quiet"]
        self.program = subprocess.Popen([*command, "--by", "A. Reader"], stdout=subprocess.PIPE, text=True)
        assert self.program.stdout is not None
        self.browser.get(self.program.stdout.readline().strip())
        self.ready()

    def ready(self) -> None:
        WebDriverWait(self.browser, WAIT_S).until(
            lambda browser: browser.find_element(By.TAG_NAME, "body").get_attribute("data-ready")
        )

    def kill(self) -> None:
        self.program.send_signal(signal.SIGKILL)
        self.program.wait()
        if self.program.stdout is not None:
            self.program.stdout.close()
        (self.folder / ".review-lock").unlink(missing_ok=True)

    def severe(self) -> list[str]:
        """What this program's pages logged as severe; the browser is shared, and earlier pages log until they close."""
        origin = re.match("http://[^/]*", self.browser.current_url)
        assert origin is not None
        messages = [entry["message"] for entry in self.browser.get_log("browser") if entry["level"] == "SEVERE"]
        return [message for message in messages if origin[0] in message]

    def broken_rules(self, width: int, dark: bool) -> list[tuple[str, str]]:
        """What on the page as it stands breaks the rules of accessibility, light or dark, wide or narrow."""
        self.browser.set_window_size(width, 900)
        dark_room = self.browser.find_element(By.ID, "dark")
        if (dark_room.get_attribute("aria-pressed") == "true") != dark:
            dark_room.click()
        found = Axe().run(self.browser, options=WCAG)
        broken = [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]]
        sideways = self.browser.execute_script("return document.documentElement.scrollWidth - window.innerWidth")
        return broken if sideways <= 0 else [*broken, ("scrolls sideways", f"{sideways} px")]

    def text(self, name: str) -> str:
        return self.browser.find_element(By.ID, name).text

    def press(self, *keys: str) -> None:
        ActionChains(self.browser).send_keys(*keys).perform()

    def until(self, name: str, pattern: str) -> str:
        WebDriverWait(self.browser, WAIT_S).until(lambda _: re.search(pattern, self.text(name)))
        return self.text(name)
