"""A real browser that shows a page: what it measures, what it runs, what it fetches, what it prints."""

from __future__ import annotations

import html
import json
import shutil
import subprocess
from pathlib import Path

import pytest

PROGRAM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)

needs_browser = pytest.mark.skipif(
    PROGRAM is None, reason="chromium is not here: how a browser shows the page was not looked at"
)

_QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--disable-default-apps", "--disable-extensions", "--virtual-time-budget=20000",
)  # fmt: skip

_MEASURE = """<!DOCTYPE html><html><body><script>
const pages = PAGES, widths = WIDTHS, found = [];
function look(frame, name, width) {
  const page = frame.contentDocument, root = page.documentElement, off = [];
  for (const one of page.body.querySelectorAll("*")) {
    const box = one.getBoundingClientRect();
    if (box.right > root.clientWidth + 1 && box.width && !one.closest(".wide, thead, .shelf"))
      off.push(one.tagName + " " + (one.textContent || "").slice(0, 40));
  }
  const sizes = [...page.body.querySelectorAll("p, li, td, th, dd, dt, figcaption, h1, h2, h3")]
    .map(one => parseFloat(frame.contentWindow.getComputedStyle(one).fontSize));
  found.push({name, width, wide: root.scrollWidth - root.clientWidth, off: off.slice(0, 5),
    ran: !!(window.hacked || window.broken), title: page.title, text: page.body.innerText,
    smallest: Math.min(...sizes), images: [...page.images].filter(one => one.naturalWidth > 0).length});
}
async function all() {
  for (const [name, code] of Object.entries(pages)) for (const width of widths) {
    window.hacked = window.broken = undefined;
    const frame = document.createElement("iframe");
    frame.style = "border:0;height:800px;width:" + width + "px";
    const loaded = new Promise(done => frame.onload = done);
    frame.srcdoc = code;
    document.body.append(frame);
    await loaded;
    await new Promise(done => setTimeout(done, 50));
    look(frame, name, width);
    frame.remove();
  }
  const told = document.createElement("pre");
  told.id = "told";
  told.textContent = JSON.stringify(found);
  document.body.replaceChildren(told);
}
all();
</script></body></html>
"""


def run(folder: Path, *words: str) -> str:
    """Start the browser with settings of its own; give what it prints."""
    folder.mkdir(parents=True, exist_ok=True)
    command = [str(PROGRAM), *_QUIET, f"--user-data-dir={folder / 'profile'}", *words]
    done = subprocess.run(command, capture_output=True, timeout=120, check=False)
    return done.stdout.decode("utf-8", "replace")


def measured(folder: Path, pages: dict[str, bytes], widths: tuple[int, ...]) -> dict[tuple[str, int], dict]:
    """Show each page at each width, in a frame of a page of the tests that may run a program.

    Returns
    -------
    dict
        By name and width: ``wide``, by how many pixels the page is wider than its window; ``off``, what is
        beyond its right edge; ``ran``, whether anything of it ran; ``title``, ``text``, ``images``;
        ``smallest``, size of its smallest letters in pixels.
    """
    folder.mkdir(parents=True, exist_ok=True)
    # A "<" in the page must not end the script that holds it.
    codes = json.dumps({name: data.decode() for name, data in pages.items()}).replace("<", "\\u003c")
    whole = _MEASURE.replace("PAGES", codes, 1).replace("WIDTHS", json.dumps(widths), 1)
    (folder / "measure.html").write_text(whole, encoding="utf-8")
    dumped = run(folder, "--dump-dom", "--window-size=1600,900", (folder / "measure.html").as_uri())
    _, _, told = dumped.partition('<pre id="told">')
    assert told, dumped[-2000:]
    found = json.loads(html.unescape(told.partition("</pre>")[0]))
    return {(one["name"], one["width"]): one for one in found}


def printed(folder: Path, page: Path) -> tuple[bytes, list[str]]:
    """Open a file and print it; give the PDF, and every address that the page asked for beside files.

    The browser asks for addresses of its own too (the time, updates); those have no page that began them.
    """
    log, pdf = folder / "net.json", folder / "page.pdf"
    run(folder, f"--log-net-log={log}", "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri())
    events = json.loads(log.read_text(encoding="utf-8"))["events"]
    begun = [one["params"] for one in events if "initiator" in one.get("params", {})]
    addresses = {one["url"] for one in begun if "url" in one and one["initiator"] != "not an origin"}
    local = ("file:", "data:", "chrome:", "chrome-extension:", "devtools:", "about:")
    return pdf.read_bytes(), sorted(one for one in addresses if not one.startswith(local))
