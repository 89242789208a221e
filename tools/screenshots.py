"""Take pictures of every page into a folder, for looking at: phone, desktop, dark and high contrast.

Run from the project's folder: ``python -m tools.screenshots FOLDER [PAGE ...]``. Needs Chromium.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright
from tests.browser.lived_home import addresses, live, served

LOOKS: dict[str, dict[str, Any]] = {
    "phone": {"viewport": {"width": 360, "height": 780}},
    "desktop": {"viewport": {"width": 1280, "height": 900}},
    "dark": {"viewport": {"width": 360, "height": 780}, "color_scheme": "dark"},
    "contrast": {"viewport": {"width": 360, "height": 780}, "contrast": "more"},
}
#: Pages that are also looked at in the dark and with high contrast.
ALSO = ("week", "vetting-question", "kitchen", "ill", "map")


def main() -> int:
    """Take the pictures; 1 without Chromium."""
    if len(sys.argv) < 2:
        print(__doc__)
        return 1
    folder, wanted = Path(sys.argv[1]), sys.argv[2:]
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        print("no Chromium is installed here")
        return 1
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home_folder:
        home = live(Path(home_folder) / "home")
        nobody = Path(home_folder) / "nobody"
        with served(home.folder) as address, served(nobody) as first, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            for look, options in LOOKS.items():
                context = browser.new_context(**options)
                page = context.new_page()
                pages = {name: address + path for name, path in addresses(home).items()} | {"begin": first}
                for name, where in pages.items():
                    if (wanted and name not in wanted) or (look in ("dark", "contrast") and name not in ALSO):
                        continue
                    page.goto(where, wait_until="networkidle")
                    page.screenshot(path=folder / f"{name}-{look}.png", full_page=True)
                    print(f"{name}-{look}.png")
                context.close()
            browser.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
