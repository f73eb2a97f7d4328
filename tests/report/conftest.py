"""Lets these tests import what is beside them, and opens the book in a browser once."""

import os
import shutil
import sys
from pathlib import Path

import pytest
from selenium import webdriver

import caddiebrain as cb

sys.path.insert(0, str(Path(__file__).parent))

from book_in_browser import DESK, at

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
DRIVER = shutil.which("chromedriver")


@pytest.fixture(scope="session")
def browser():
    """Debian's chromium and chromium-driver, driven by selenium and cut off from every network."""
    if not (CHROMIUM and DRIVER):
        said = "no chromium with chromedriver; on Debian: apt-get install chromium chromium-driver"
        if os.environ.get("CI", "").lower() in ("1", "true"):
            pytest.fail(said)
        pytest.skip(said)
    options = webdriver.ChromeOptions()
    options.binary_location = CHROMIUM
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(DRIVER))
    driver.execute_cdp_cmd("Emulation.setFocusEmulationEnabled", {"enabled": True})
    driver.execute_cdp_cmd("Network.enable", {})
    driver.execute_cdp_cmd(
        "Network.emulateNetworkConditions",
        {
            "offline": True,
            "latency": 0,
            "downloadThroughput": 0,
            "uploadThroughput": 0,
        },
    )
    yield driver
    driver.quit()


@pytest.fixture(scope="session")
def plan(demo_plan):
    return demo_plan


@pytest.fixture(scope="session")
def book_file(plan, tmp_path_factory) -> Path:
    target = tmp_path_factory.mktemp("book") / "round.html"
    cb.write_book(plan, target)
    return target


@pytest.fixture(scope="session")
def page(browser, book_file):
    """The book, open on a desk."""
    at(browser, DESK)
    browser.get(book_file.as_uri())
    return browser
