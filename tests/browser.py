"""A headless Chromium that tests look at pages with: no network of its own, no account, no past.

Where no browser is installed these tests are skipped with a reason; under CI (the environment
variable CI is true) that is an error, so that they cannot fall asleep there.
"""

import json
import os
import shutil
from base64 import b64decode
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from selenium.common.exceptions import StaleElementReferenceException, TimeoutException
from selenium.webdriver import Chrome, ChromeOptions
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

PHONE, TABLET = (390, 844), (810, 1080)
_FLAGS = (
    "--headless=new",
    "--no-sandbox",  # in a container the tests run as root
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)
_LONGEST_S = 20.0
_OWN_SCHEMES = ("data", "blob", "about", "chrome")  # nothing leaves the browser for these


def _programs() -> tuple[str, str]:
    """Return where browser and driver are; skip the test, or fail it under CI, if they are not."""
    browser = shutil.which("chromium") or shutil.which("google-chrome")
    driver = shutil.which("chromedriver")
    if browser and driver:
        return browser, driver
    reason = "needs a browser: Debian's packages chromium and chromium-driver"
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


class Window:
    """One window of a size, and what a person does in it.

    Attributes
    ----------
    driver : Chrome
        For what is not said here.
    """

    def __init__(self, driver: Chrome) -> None:
        self.driver = driver

    def open(self, address: str) -> None:
        """Go to an address: of a server, or of a file."""
        self.driver.get(address)

    def all(self, selector: str) -> list[WebElement]:
        """Return the elements of a CSS selector that are in the page."""
        return self.driver.find_elements(By.CSS_SELECTOR, selector)

    def wait_for(self, selector: str, text: str = "") -> WebElement:
        """Return the first visible element of a CSS selector that holds a text, once there is."""
        script = """
            return [...document.querySelectorAll(arguments[0])].find(
                e => e.checkVisibility() && e.textContent.includes(arguments[1])) || null;"""

        def found(driver: Chrome) -> WebElement | None:
            element: WebElement | None = driver.execute_script(script, selector, text)
            return element

        try:
            element = WebDriverWait(self.driver, _LONGEST_S, poll_frequency=0.05).until(found)
        except TimeoutException:  # what the page says then, not when the wait began
            said = self.text()[:1500]
            pytest.fail(f"no visible {selector} with {text!r}; the page says: {said}")
        assert element is not None
        return element

    def tap(self, text: str, selector: str = "button") -> None:
        """Tap what has a text, once it is there."""
        self._once_settled(lambda: self.wait_for(selector, text).click())

    def type(self, selector: str, text: str) -> None:
        """Type into an empty field, once it is there."""
        self._once_settled(lambda: self.wait_for(selector).clear())
        self._once_settled(lambda: self.wait_for(selector).send_keys(text))

    def _once_settled(self, act: Callable[[], None]) -> None:
        """Act on what is found; once more where the page was just replaced under it."""
        try:
            act()
        except StaleElementReferenceException:
            act()

    def text(self) -> str:
        """Return all that can be read."""
        return str(
            self.driver.execute_script("return document.body ? document.body.innerText : ''")
        )

    def width_of_content(self) -> int:
        """Return how wide the page is; more than the window's width means scrolling sideways."""
        return int(self.driver.execute_script("return document.documentElement.scrollWidth"))

    def picture(self, path: Path) -> None:
        """Write what is seen as a PNG file."""
        path.write_bytes(self.driver.get_screenshot_as_png())

    def printed(self) -> bytes:
        """Return the PDF that the browser prints, on the paper that the page asks for."""
        asked = {"preferCSSPageSize": True}
        return b64decode(self.driver.execute_cdp_cmd("Page.printToPDF", asked)["data"])

    def resize(self, size: tuple[int, int], *, dark: bool = False) -> None:
        """Show the page as a screen of another size does."""
        metrics = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": False}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})

    def errors(self) -> list[str]:
        """Return what the console has against the page since this was last asked."""
        # selenium gives this function no types
        logged = self.driver.get_log("browser")  # type: ignore[no-untyped-call]
        return [entry["message"] for entry in logged if entry["level"] in ("SEVERE", "WARNING")]

    def requests(self) -> list[str]:
        """Return the addresses that were asked for since this was last asked, own schemes aside."""
        # selenium gives this function no types
        logged = self.driver.get_log("performance")  # type: ignore[no-untyped-call]
        messages = (json.loads(entry["message"])["message"] for entry in logged)
        asked = [
            message["params"]["request"]["url"]
            for message in messages
            if message["method"] == "Network.requestWillBeSent"
        ]
        return [address for address in asked if urlsplit(address).scheme not in _OWN_SCHEMES]


@contextmanager
def open_window(
    profile: Path, size: tuple[int, int] = PHONE, *, dark: bool = False
) -> Iterator[Window]:
    """Open a browser with one window; skip the test where there is none.

    Parameters
    ----------
    profile : Path
        An empty folder for what the browser keeps, such as one below `tmp_path`.
    size : tuple of int, optional
        Width and height in CSS pixels.
    dark : bool, optional
        Ask for the page's dark colors.
    """
    browser, driver_program = _programs()
    options = ChromeOptions()
    options.binary_location = browser
    for flag in (*_FLAGS, f"--user-data-dir={profile}", f"--window-size={size[0]},{size[1]}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    # the driver is named, or selenium would go and look for one on the network
    driver = Chrome(options=options, service=Service(driver_program))
    try:
        window = Window(driver)
        window.resize(size, dark=dark)
        yield window
    finally:
        driver.quit()
