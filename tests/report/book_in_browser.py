"""The two screens on which tests open the book."""

PHONE, DESK = (390, 844), (1400, 900)


def at(browser, size, touch=False):
    width, height = size
    browser.execute_cdp_cmd(
        "Emulation.setDeviceMetricsOverride",
        {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": touch},
    )
